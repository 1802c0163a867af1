//! The table of codes, in alphabetical order.

use super::{Entry, plan, run, since, style, template, words};

codes! {
    AliasInItself "alias-in-itself" "An alias (*) stands inside the value that it repeats. Write the value out."
        run("notes: &n [cloudy, *n]", r#"notes: "Bath 3: slightly cloudy""#);
    AliquotTooLarge "aliquot-too-large" "An aliquot is larger than the volume it is made up to. Check the number of deliveries and the final volume."
        run("    aliquot: {of: A, volume: 6 × 20.00 mL, with: twenty pipette}", "    aliquot: {of: A, volume: 4 × 20.00 mL, with: twenty pipette}");
    AllLeftOut "all-left-out" "All weighings of a solution or of a piece of ware are left out. Include at least one, or delete the entry."
        run("      F: [{filled: 79.187 g, left_out: bubble}]", "      F: [{filled: 79.187 g}]");
    BenchTwice "bench-twice" "Two lines of a table of runs name the same bench, so their reports would have the same name. Rename one."
        words("bench,weighings.A.1.filled\n3,41.176\n3,41.178", "bench,weighings.A.1.filled\n3,41.176\n4,41.178");
    BeyondSaturation "beyond-saturation" "By its readings, a solution contains more salt than dissolves at its temperature. Either salt lay undissolved, or a reading is wrong."
        run("    weighed: {before: 99.274 g, after: 11.262 g}", "    weighed: {before: 61.274 g, after: 11.262 g}");
    Blank "blank" "An entry has no value yet. Write it in; an optional entry may stay blank."
        run("    weighed: {before: 82.417 g, after: }", "    weighed: {before: 82.417 g, after: 19.909 g}");
    CapacityNotListed "capacity-not-listed" "The standard for this kind of ware lists no limits of error for this capacity. Correct the capacity, or write the tolerance printed on the ware."
        run("  burette: {kind: burette, capacity: 90 mL, division: 0.2 mL, class: A}", "  burette: {kind: burette, capacity: 100 mL, division: 0.2 mL, class: A}");
    CaptionMisplaced "caption-misplaced" "A caption is not followed by its table or figure. Put it directly before, with a blank line between."
        template("Table #loads: Loads\n\nText.\n\n| Load |\n|:--|\n| one |\n", "Table #loads: Loads\n\n| Load |\n|:--|\n| one |\n");
    CellsDiffer "cells-differ" "A row of a table has more or fewer cells than its heading."
        template("| Load | Mass |\n|:--|--:|\n| one |\n", "| Load | Mass |\n|:--|--:|\n| one | 1.0 |\n");
    ChangeNotExplained "change-not-explained" "A value has changed since the last report, and no correction explains it. Add a correction, or restore the old value."
        since("      - {empty: 28.319 g, filled: 39.909 g, volume: 10.00 mL}\n…\ncorrections:",
            "      - {empty: 28.319 g, filled: 39.990 g, volume: 10.00 mL}\n…\ncorrections:",
            "      - {empty: 28.319 g, filled: 39.990 g, volume: 10.00 mL}\n…\ncorrections:\n  - {entry: weighings.A.1.filled, was: 39.909 g, now: 39.990 g, why: digits transposed}");
    ClaimNotCalculated "claim-not-calculated" "A claimed result cannot be calculated from this run, such as the mass percent of a solution without a density. Name another solution or step, or delete the claim."
        run("claimed: {mass of salt: {water: 5.001 g}}", "claimed: {densities: {water: 0.998 g/mL}}");
    ColumnNamedTwice "column-named-twice" "A column of the table is given two meanings under `columns` or `unread`. Give it one."
        run("  weighings: {from: readings.csv, columns: {empty: filled, filled: filled}}", "  weighings: {from: readings.csv}");
    ColumnUsedTwice "column-used-twice" "Two columns of the table have the same name. Rename one."
        run("solution,empty,filled,volume,filled,left_out", "solution,empty,filled,volume,liquid,left_out");
    ConcentrationNotKnown "concentration-not-known" "A solution is pipetted from one made by mass without a measured density, so the mass of salt in a volume of it is not known. Weigh a known volume of it too."
        run("  H:\n    weighed: {mass: 20.113 g}\n    solvent: {mass: 80.021 g}\n  D:\n    aliquot: {of: H, volume: 2 × 20.00 mL, with: twenty pipette}",
            "  D:\n    aliquot: {of: A, volume: 2 × 20.00 mL, with: twenty pipette}");
    ControlCharacter "control-character" "The file contains a control character, which is invisible. Type the text again, and save the file as plain text in UTF-8."
        run(r#"notes: "Bath 3: slightly \a cloudy""#, r#"notes: "Bath 3: slightly cloudy""#);
    CorrectedBeforeTheWork "corrected-before-the-work" "A correction is dated before the work. Correct one of the two dates."
        run("  - {entry: weighings.C.2.filled, was: 39.259 g, now: 39.295 g, why: digits transposed, on: 2025-03-05}", "  - {entry: weighings.C.2.filled, was: 39.259 g, now: 39.295 g, why: digits transposed, on: 2026-03-05}");
    CorrectionLacks "correction-lacks" "A correction under `allow_for` needs a value that is not given, such as the temperature of the air. Add it, or delete the correction."
        run("conditions:\n  liquid: 19.4 °C", "conditions:\n  air: 20.5 °C\n  liquid: 19.4 °C");
    CorrectionNotMade "correction-not-made" "The new value in a correction differs from the entry itself. Change the entry or the correction."
        run("  - {entry: weighings.C.2.filled, was: 39.259 g, now: 39.925 g, why: digits transposed, on: 2026-03-05}", "  - {entry: weighings.C.2.filled, was: 39.259 g, now: 39.295 g, why: digits transposed, on: 2026-03-05}");
    CorrectionWasOtherwise "correction-was-otherwise" "The old value in a correction differs from that in the last report. Copy `was` from that report."
        since("      - {empty: 28.319 g, filled: 39.909 g, volume: 10.00 mL}\n…\ncorrections:",
            "      - {empty: 28.319 g, filled: 39.990 g, volume: 10.00 mL}\n…\ncorrections:\n  - {entry: weighings.A.1.filled, was: 39.099 g, now: 39.990 g, why: digits transposed}",
            "      - {empty: 28.319 g, filled: 39.990 g, volume: 10.00 mL}\n…\ncorrections:\n  - {entry: weighings.A.1.filled, was: 39.909 g, now: 39.990 g, why: digits transposed}");
    DecimalComma "decimal-comma" "A number has a comma, which may be a decimal comma or a thousands separator. Write a decimal point and no commas."
        run("      - {empty: 28.319 g, filled: 39,909 g, volume: 10.00 mL}", "      - {empty: 28.319 g, filled: 39.909 g, volume: 10.00 mL}");
    DecimalCommasRead "decimal-commas-read" "A table separated by semicolons or tabs has decimal commas throughout; they are read as points. If that is right, nothing needs to be done."
        words("A;50,10;60,08;10,00", "A;50.10;60.08;10.00");
    DensityFarOff "density-far-off" "A weighing gives a density that no brine has. Look for a lost decimal point, a wrong unit or a wrong volume."
        run("      - {empty: 28.319 g, filled: 39909 g, volume: 10.00 mL}", "      - {empty: 28.319 g, filled: 39.909 g, volume: 10.00 mL}");
    DensityOffPublished "density-off-published" "A density differs from the published density of its composition by more than the uncertainties explain. Look for a slip in preparation or weighing before repeating the work."
        run("      - {empty: 28.314 g, filled: 39.630 g, volume: 10.00 mL}\n      - {empty: 28.319 g, filled: 39.629 g, volume: 10.00 mL}\n      - {empty: 28.315 g, filled: 39.628 g, volume: 10.00 mL}",
            "      - {empty: 28.314 g, filled: 39.292 g, volume: 10.00 mL}\n      - {empty: 28.315 g, filled: 39.295 g, volume: 10.00 mL}\n      - {empty: 28.319 g, filled: 39.286 g, volume: 10.00 mL}");
    DigitsNotShown "digits-not-shown" "A reading has more or fewer digits than its balance shows. Write every digit of the display, including zeros."
        run("      - {empty: 28.312 g, filled: 38.3 g, volume: 10.00 mL}", "      - {empty: 28.312 g, filled: 38.295 g, volume: 10.00 mL}");
    DilutionOfUnknown "dilution-of-unknown" "A solution is diluted from an unknown, so its strength is not known either. Correct the name of the solution taken, or mark this one as unknown too."
        run("    aliquot: {of: bath 3, volume: 2 × 20.00 mL, with: twenty pipette}", "    aliquot: {of: A, volume: 2 × 20.00 mL, with: twenty pipette}");
    DilutionOfWater "dilution-of-water" "A dilution is taken from pure water. Name the solution that was diluted."
        run("    aliquot: {of: water, volume: 2 × 20.00 mL, with: twenty pipette}", "    aliquot: {of: A, volume: 2 × 20.00 mL, with: twenty pipette}");
    DilutionRing "dilution-ring" "Solutions are diluted from each other in a circle. Name the solution that was made from weighed salt."
        run("    aliquot: {of: D, volume: 2 × 20.00 mL, with: twenty pipette}", "    aliquot: {of: A, volume: 2 × 20.00 mL, with: twenty pipette}");
    DividerNotClear "divider-not-clear" "The columns of the table are separated by commas in one place and by semicolons or tabs in another. Use one separator throughout."
        run("solution,empty;filled,volume,liquid,left_out", "solution,empty,filled,volume,liquid,left_out");
    DivisionNotListed "division-not-listed" "The standard lists no burette of this capacity with this division. Read the scale again, or write the tolerance printed on the burette."
        run("  burette: {kind: burette, capacity: 100 mL, division: 0.02 mL, class: A}", "  burette: {kind: burette, capacity: 100 mL, division: 0.2 mL, class: A}");
    EmptyFile "empty-file" "The file contains only blanks or comments. `fillmark start` writes a run file to fill in."
        words("a file in which nothing is written", "a run file as `fillmark start` writes it, filled in");
    EntryNotReplaced "entry-not-replaced" "A table of runs has a value for an entry that spans several lines or is an alias in the run file. Leave the entry blank in the run file."
        words("procedure: [weigh the salt, make it up]", "procedure:");
    FewRinses "few-rinses" "Ware was rinsed fewer than three times before another liquid, so a film of the previous liquid mixed with the next. Rinse more often, or repeat the step."
        run("practice: {rinsed: 0, mixed: inverted ten times}", "practice: {rinsed: 3, mixed: inverted ten times}");
    FileBesideNotRead "file-beside-not-read" "A table of weighings or an earlier report named in the run file cannot be read. Check its name; the path starts from the run file's folder."
        run("  weighings: {from: reading.csv}", "  weighings: {from: readings.csv}");
    FileNotRead "file-not-read" "A file named on the command line cannot be read. Check its name, its folder and your permission to read it."
        words("fillmark check bathh.yaml", "fillmark check bath.yaml");
    FileTooLarge "file-too-large" "The style file is too large. Another file was probably named."
        words("fillmark report bath.yaml --style photo.jpg", "fillmark report bath.yaml --style style.yaml");
    FilledNotHeavier "filled-not-heavier" "A vessel is no heavier filled than empty, or no heavier after a delivery than before it. Readings are exchanged, or a digit is wrong."
        run("      - {empty: 39.909 g, filled: 28.319 g, volume: 10.00 mL}", "      - {empty: 28.319 g, filled: 39.909 g, volume: 10.00 mL}");
    FormulaInLine "formula-in-line" "A displayed formula ($$) stands within text. Give it a paragraph of its own, or use single $ signs."
        template("The mass is $$m$$ here.\n", "The mass is $m$ here.\n");
    FormulaNotRead "formula-not-read" "The formula of the salt contains a symbol that is not an element. Correct it, or give the molar mass instead."
        run("solute: {name: sodium chloride, formula: NaCi}", "solute: {name: sodium chloride, purity: 99.6 ± 0.1 %}");
    ImageInLine "image-in-line" "A picture stands within text. Give it a paragraph of its own."
        template("| Plot |\n|:--|\n| ![](photo:1) |\n", "![](photo:1)\n");
    KeyNotText "key-not-text" "A list or a section stands before the colon, where a name belongs."
        run("  [water]: {pure: true}", "  water: {pure: true}");
    KeyTwice "key-twice" "A key occurs twice in the style file. Keep one."
        style("paper: A4\npaper: A4\n", "paper: A4\n");
    KeyUsedTwice "key-used-twice" "A key occurs twice in one entry. Keep one."
        run("    weighed: {before: 82.417 g, after: 19.909 g, before: 82.471 g}", "    weighed: {before: 82.417 g, after: 19.909 g}");
    KeyWithoutColon "key-without-colon" "A key needs a colon and a space before its value."
        run("  water: {pure:true}", "  water: {pure: true}");
    LabelTwice "label-twice" "Two sections, tables or formulas have the same label. Give each its own."
        template("# Aim { #aim }\n\n# Method { #aim }\n", "# Aim { #aim }\n\n# Method { #method }\n");
    LastDigitHabit "last-digit-habit" "All readings of a balance end in 0 or 5, as if rounded by eye. Write the digits that the balance shows."
        run("    weighed: {before: 61.275 g, after: 11.260 g}\n…\n    water: [{empty: 31.205 g, filled: 41.175 g, volume: 10.00 mL}]\n    A: [{empty: 31.205 g, filled: 42.480 g, volume: 10.00 mL}]\n    B: [{empty: 31.205 g, filled: 41.450 g, volume: 10.00 mL}]\n    bath 3: [{empty: 31.205 g, filled: 41.800 g, volume: 10.00 mL}]",
            "    weighed: {before: 61.274 g, after: 11.262 g}\n…\n    water: [{empty: 31.204 g, filled: 41.176 g, volume: 10.00 mL}]\n    A: [{empty: 31.204 g, filled: 42.480 g, volume: 10.00 mL}]\n    B: [{empty: 31.203 g, filled: 41.449 g, volume: 10.00 mL}]\n    bath 3: [{empty: 31.203 g, filled: 41.801 g, volume: 10.00 mL}]");
    LimitWithUncertainty "limit-with-uncertainty" "A limit has an uncertainty. Write the limit alone; the uncertainty belongs to the result."
        run("limits: {bath 3: {mass percent: 18.0 ± 0.1 to 20.0 %, rule: {guard_band: 0.1 %}}}", "limits: {bath 3: {mass percent: 18.0 to 20.0 %, rule: {guard_band: 0.1 %}}}");
    LimitsUnknown "limits-unknown" "No limits of error of an instrument are stated. Write its class, readability, accuracy or tolerance."
        run("  spindle: {kind: hydrometer}", "  spindle: {kind: hydrometer, readability: 0.0005 g/mL, accuracy: 0.001 g/mL}");
    LineDeparts "line-departs" "The points do not lie on the line or curve, so results from it are less certain than stated. Try a curve, or look for a wrong point."
        run("calibration: {against: mass percent, line: straight}", "calibration: {against: mass percent, line: curve}");
    LogoNotRead "logo-not-read" "The picture named as the logo cannot be used. Name a PNG or JPEG in the style file's folder."
        style("logo: none.png\n", "logo: logo.png\n");
    LoneCarriageReturn "lone-carriage-return" "The lines of the file end in a carriage return alone, so they cannot be counted. Save it with the line ends of Windows or Unix."
        words("line ends: CR", "line ends: CR LF, or LF");
    MalformedFormula "malformed-formula" "A formula of a template is not TeX that can be typeset."
        template("The density is $\\nosuch$.\n", "The density is $\\rho$.\n");
    MergeKey "merge-key" "The sign << copies keys from elsewhere, which a run file does not allow. Write the keys out."
        run("  bath thermometer: {<<: {kind: thermometer}, readability: 0.1 °C, accuracy: 0.2 °C}", "  bath thermometer: {kind: thermometer, readability: 0.1 °C, accuracy: 0.2 °C}");
    MissingColumn "missing-column" "The table of weighings lacks a column that is needed. Rename the column, or give its name under `columns`."
        run("solution,empty,filed,volume,liquid,left_out", "solution,empty,filled,volume,liquid,left_out");
    MissingGlyph "missing-glyph" "No typeface of the report has a character of the text; a replacement sign is printed. Use other characters."
        words("title: Strength of a brine 🧂", "title: Strength of a brine");
    MissingKey "missing-key" "An entry lacks a key that it needs."
        run("  balance: {kind: balance}", "  balance: {kind: balance, readability: 0.001 g, repeatability: 0.001 g}");
    MoreProblems "more-problems" "The file has more problems than are listed. Correct the first ones and check again; one mistake often causes several problems."
        words("a file of which every line is wrong", "the first mistakes corrected, and the file checked again");
    MoreThanTheStockGives "more-than-the-stock-gives" "The stock of a plan is not enough for all dilutions from it. Plan smaller volumes, or a larger flask."
        plan("    A: {mass percent: 10 %, volume: 240 mL}", "    A: {mass percent: 10 %, volume: 150 mL}");
    NameUsedTwice "name-used-twice" "Two solutions or two pieces of apparatus have the same name. Give each its own."
        run("  bath 3: {unknown: true}\n  bath 3: {unknown: true}", "  bath 3: {unknown: true}");
    NestedTooDeep "nested-too-deep" "Lists or sections are nested far deeper than needed. Look for extra brackets."
        run("notes: [[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[cloudy]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]", r#"notes: "Bath 3: slightly cloudy""#);
    NoCalibration "no-calibration" "No line can be fitted, as the points do not differ enough in composition. Use solutions of several strengths."
        run("calibration: {against: mass percent, line: straight, without: [A, B]}\n…\n  water: {pure: true}\n  more water: {pure: true}\n…\n    water: [{empty: 31.204 g, filled: 41.176 g, volume: 10.00 mL}]\n    more water: [{empty: 31.204 g, filled: 41.176 g, volume: 10.00 mL}]",
            "calibration: {against: mass percent, line: straight}\n…\n  water: {pure: true}\n…\n    water: [{empty: 31.204 g, filled: 41.176 g, volume: 10.00 mL}]");
    NoComposition "no-composition" "Limits, a target strength or a known composition are given for a solution whose composition is not known. Measure its density, or name another solution."
        run("adjust: {water: {to: 19.0 %, volume: 1200 ± 20 L}}", "adjust: {bath 3: {to: 19.0 %, volume: 1200 ± 20 L}}");
    NoDensity "no-density" "A solution has no density, and no other solution is made from it, so it contributes to no result. Weigh it, or check whether its weighings stand under another name."
        run("  bath 3: {unknown: true}\n  H:\n    weighed: {mass: 5.001 g}\n    solvent: {mass: 95.003 g}", "  bath 3: {unknown: true}");
    NoEarlierCalibration "no-earlier-calibration" "The earlier report named in the run file has no calibration, or one for another salt. Name the report of a run with a calibration for this salt."
        words("calibration: {from: weekly.pdf}, where no solutions were made", "calibration: {from: march.pdf}, a report with a calibration line");
    NoHeading "no-heading" "The first line of the table of weighings does not name its columns."
        run("water,31.204 g,41.176 g,10.00 mL,,", "solution,empty,filled,volume,liquid,left_out\nwater,31.204 g,41.176 g,10.00 mL,,");
    NoInstrument "no-instrument" "The instrument of a reading is not named. Name the balance, pipette or hydrometer, at the reading or under `density`."
        run("    solvent: {volume: 85.3 mL}", "    solvent: {volume: 85.3 mL, with: burette}");
    NoName "no-name" "A solution, a piece of apparatus or a weighing has an empty name."
        run("  \"\": {pure: true}", "  water: {pure: true}");
    NoPublishedDensity "no-published-density" "A plan, or `calibration: published`, needs published densities, and none are available for this salt, strength or temperature."
        plan("conditions: {liquid: -10 °C}", "conditions: {liquid: 21 °C}");
    NoReason "no-reason" "Something is left out, or not done, without a reason. Write the reason, or delete the key."
        run("      - {empty: 28.316 g, filled: 39.560 g, volume: 10.00 mL, left_out: yes}", "      - {empty: 28.316 g, filled: 39.560 g, volume: 10.00 mL, left_out: bubble in the pipette}");
    NoRoom "no-room" "The margins of the style file leave too little room for text."
        style("margins: {left: 70 mm, right: 70 mm}\n", "margins: {left: 25 mm, right: 25 mm}\n");
    NoRoomBetweenLimits "no-room-between-limits" "A guard band is so wide that no result lies within the limits. State a narrower one."
        run("limits: {bath 3: {mass percent: 18.0 to 20.0 %, rule: {guard_band: 1.1 %}}}", "limits: {bath 3: {mass percent: 18.0 to 20.0 %, rule: {guard_band: 0.1 %}}}");
    NoSlope "no-slope" "No density can be found from a series of deliveries, as no line can be fitted to its masses. Check its volumes and masses."
        words("deliveries whose volumes or masses allow no line", "several deliveries of known volume, each with its mass");
    NoSuchScale "no-such-scale" "The trade units of strength are for sodium chloride brine, and this is another salt. Delete `scales`."
        run("solute: potassium chloride", "solute: {name: sodium chloride, purity: 99.6 ± 0.1 %}");
    NoTemperature "no-temperature" "The temperature of a liquid is not given. Write `liquid` under `conditions`, or at the weighing."
        run("  air: 20.5 °C\n", "  air: 20.5 °C\n  liquid: 19.4 °C\n");
    NoTemperatureModel "no-temperature-model" "Densities can be converted to one temperature only for salts whose solutions have published densities. Delete `density_at`."
        run("solute: {name: calcium chloride, formula: CaCl2, density: 2150 kg/m³}", "solute: {name: sodium chloride, purity: 99.6 ± 0.1 %}");
    NoUnknown "no-unknown" "Unknowns are to be found from published densities or an earlier calibration, but no solution is unknown. Mark one as unknown, or delete the key."
        words("`calibration: published` without an unknown", "a solution with `unknown: true`");
    NoVessel "no-vessel" "More of a solution is planned than any flask or cylinder holds. Plan less of it, or add a larger one."
        plan("    A: {mass percent: 10 %, volume: 300 mL}", "    A: {mass percent: 10 %, volume: 150 mL}");
    NoWare "no-ware" "A plan has no balance, flask or pipette to make solutions with. Add one under `apparatus`."
        plan("  scale: {kind: thermometer, accuracy: 0.2 °C}", "  scale: {kind: balance, readability: 0.01 g}");
    NoWay "no-way" "The plan cannot be carried out with the ware listed. Add ware, or plan other strengths."
        words("a plan of more solutions than its ware can make", "the same with another flask and pipette");
    NoWeighing "no-weighing" "The table has a heading but no weighings below it."
        run("solution,empty,filled,volume,liquid,left_out\n", "solution,empty,filled,volume,liquid,left_out\nwater,31.204 g,41.176 g,10.00 mL,,\nA,31.204,42.480,10.00,20.8 °C,\nA,31.210 g,42.498 g,10.00 mL,,bubble in the pipette\nB,31203 mg,41449 mg,10.00 mL,,\nbath 3,31.203 g,41.801 g,10.00 mL,,\n");
    NotACount "not-a-count" "A number of deliveries or rinses cannot be read. Write a whole number; deliveries as 4 × 20.00 mL."
        run("    aliquot: {of: A, volume: 20.00 mL × 4, with: twenty pipette}", "    aliquot: {of: A, volume: 4 × 20.00 mL, with: twenty pipette}");
    NotADay "not-a-day" "A date is not a valid calendar date as YYYY-MM-DD."
        run("date: 4 March 2026", "date: 2026-03-04");
    NotANumber "not-a-number" "A reading is not a number. Look for a letter among the digits, or an extra sign."
        run("      - {empty: 28.319 g, filled: 39.9O9 g, volume: 10.00 mL}", "      - {empty: 28.319 g, filled: 39.909 g, volume: 10.00 mL}");
    NotARange "not-a-range" "A range is not two values with the lower one first, or limits are not written as in 18 to 20 %, at least 18 %, or at most 20 %."
        plan("  unknown: {expected: 8 to 3 %}", "  unknown: {expected: 3 to 8 %}");
    NotAnUncertainty "not-an-uncertainty" "The value after ± is not a standard uncertainty greater than zero. Correct it, or delete the ±."
        run("solute: {name: sodium chloride, purity: 99.6 ± 0 %}", "solute: {name: sodium chloride, purity: 99.6 ± 0.1 %}");
    NotCompared "not-compared" "The file named with `--since` is neither a report nor a run file that can be read, so nothing is compared."
        words("fillmark check bath.yaml --since notes.txt", "fillmark check bath.yaml --since bath.pdf");
    NotOfThisScale "not-of-this-scale" "A property of an instrument belongs to another scale than its own. Delete the key, or name the right scale."
        words("a modulus at a scale of specific gravity", "the modulus at `scale: degrees Baumé` alone");
    NotOnTheCurve "not-on-the-curve" "No composition on the calibration has the density of the unknown. Look for a slip in its weighings or in a point of the curve, or make a standard beyond it."
        run("    B: [{empty: 31.203 g, filled: 42.449 g, volume: 10.00 mL}]\n    bath 3: [{empty: 31.203 g, filled: 43.801 g, volume: 10.00 mL}]\n…\ncalibration: {against: mass percent, line: curve}",
            "    B: [{empty: 31.203 g, filled: 41.449 g, volume: 10.00 mL}]\n    bath 3: [{empty: 31.203 g, filled: 41.801 g, volume: 10.00 mL}]\n…\ncalibration: {against: mass percent, line: straight}");
    NotRecorded "not-recorded" "Rinsing of ware or mixing of solutions is not recorded. If it was done, write it under `practice`."
        run("practice: {rinsed: 3}", "practice: {rinsed: 3, mixed: inverted ten times}");
    NotToBeMeasured "not-to-be-measured" "The ware listed cannot make a solution of the plan at the strength wanted. Plan a strength that it can make, or add other ware."
        plan("    C: {mass percent: 0.01 %, volume: 100 mL}", "    C: {mass percent: 5 %, volume: 100 mL}");
    NotTrue "not-true" "The only value of this key is true. If it does not apply, delete the key."
        run("  air_buoyancy: false", "  air_buoyancy: true");
    NotUtf8 "not-utf-8" "The file is not text as other programs expect it. Save it as plain text in UTF-8."
        words("saved as UTF-16, or from a word processor", "saved as plain text, UTF-8");
    NotYaml "not-yaml" "The lines are not valid YAML: a quote, bracket, colon or space is missing or extra, or a line is indented wrongly. The mark shows where."
        run("notes: Bath 3: slightly cloudy", r#"notes: "Bath 3: slightly cloudy""#);
    NothingCorrected "nothing-corrected" "A correction has the same value before and after. Write the old value under `was`."
        run("  - {entry: weighings.C.2.filled, was: 39.295 g, now: 39.295 g, why: digits transposed, on: 2026-03-05}", "  - {entry: weighings.C.2.filled, was: 39.259 g, now: 39.295 g, why: digits transposed, on: 2026-03-05}");
    NothingFitted "nothing-fitted" "A fit is chosen, but unknowns are found from published densities and no line is fitted. Delete the key."
        words("`calibration: {line: published, fit: weighted}`", "`calibration: published`");
    NothingTaken "nothing-taken" "A vessel is not lighter after it was emptied than before, so no salt left it. The readings are exchanged, or a digit is wrong."
        run("    weighed: {before: 19.909 g, after: 82.417 g}", "    weighed: {before: 82.417 g, after: 19.909 g}");
    NothingToAcknowledge "nothing-to-acknowledge" "A flag is acknowledged that is not raised there. Delete the acknowledgement, or correct its `at`."
        run("practice: {rinsed: 3, mixed: inverted ten times}\nacknowledged: [{flag: few-rinses, why: little was left}]", "practice: {rinsed: 3, mixed: inverted ten times}");
    NothingToExtract "nothing-to-extract" "The file is not a complete report of this program, so nothing can be extracted from it."
        words("fillmark extract bath.docx", "fillmark extract bath.pdf");
    NothingToPool "nothing-to-pool" "The standard deviations of all solutions are to be pooled, but none was weighed twice. Weigh one again, or delete `repeatability`."
        run("  repeatability: pooled\n  weighings:\n    water: [{empty: 31.204 g, filled: 41.176 g, volume: 10.00 mL}]",
            "  weighings:\n    water: [{empty: 31.204 g, filled: 41.176 g, volume: 10.00 mL}]");
    NothingWritten "nothing-written" "A solution is listed under the weighings without any. Write them, or delete its name."
        run("    water: []", "    water: [{empty: 31.204 g, filled: 41.176 g, volume: 10.00 mL}]");
    OffTheMark "off-the-mark" "The volume of a one-mark flask or pipette differs from its capacity. Correct the volume, or name other ware."
        run("    made_up: {to: 200 mL, in: stock flask}", "    made_up: {to: 250 mL, in: stock flask}");
    OnAnotherScale "on-another-scale" "A reading is not on the scale of its instrument. Write it as the instrument shows it, or state the instrument's scale."
        words("`18 °Bé` with a spindle that shows specific gravity", "`specific gravity 1.142`");
    OneColumn "one-column" "The heading of the table has a single column. Separate the names with commas, semicolons or tabs."
        run("solution empty filled volume liquid left_out", "solution,empty,filled,volume,liquid,left_out");
    OriginIncomplete "origin-incomplete" "The preparation of a solution is incomplete. Weighed salt needs `made_up` or `solvent`; an aliquot needs `made_up`."
        run("    weighed: {before: 82.417 g, after: 19.909 g}", "    weighed: {before: 82.417 g, after: 19.909 g}\n    made_up: {to: 250 mL, in: stock flask}");
    OtherFile "other-file" "This is a plan where a run file belongs, or a run file where a plan belongs."
        words("fillmark check plan.yaml", "fillmark plan plan.yaml");
    OutOfRange "out-of-range" "A value is outside the range of its entry. Look for a missing unit or %, a wrong sign, or an extra digit."
        run("  humidity: 52", "  humidity: 52 %");
    OutsideCalibration "outside-calibration" "An unknown is stronger or weaker than all points of the calibration, so its result is extrapolated. Make a standard beyond it, or dilute the unknown."
        run("    bath 3: [{empty: 31.203 g, filled: 42.801 g, volume: 10.00 mL}]", "    bath 3: [{empty: 31.203 g, filled: 41.801 g, volume: 10.00 mL}]");
    OutsidePublishedRange "outside-published-range" "The published formula needed is not valid at this temperature or composition. Check the value, or delete the correction."
        run("  air: 32 °C", "  air: 20.5 °C");
    OverCapacity "over-capacity" "More is measured in a vessel than it holds. Correct the volume, or name other ware."
        run("    made_up: {to: 150.0 mL, in: tall cylinder}", "    made_up: {to: 100.0 mL, in: tall cylinder}");
    OverTheMark "over-the-mark" "A vessel was filled over its mark, so the solution is weaker than calculated. It is better to make it again."
        run("    made_up: {to: 250 mL, in: stock flask, over_mark: 5 mL}", "    made_up: {to: 250 mL, in: stock flask}");
    PathNotBeside "path-not-beside" "The path of a file leads out of the run file's folder. Put the file into that folder."
        run("photos: [{file: ../streaks.png, caption: Streaks before mixing, shows: A}]", "photos: [{file: streaks.png, caption: Streaks before mixing, shows: A}]");
    PhotoCutShort "photo-cut-short" "The end of a photograph's file is missing. Copy it again."
        words("a file whose copying broke off", "the whole file");
    PhotoDamaged "photo-damaged" "The file of a photograph is damaged and cannot be decoded. Copy or save it again."
        words("a damaged file", "a file that other programs can show");
    PhotoEmpty "photo-empty" "The file of a photograph is empty. Copy it again."
        words("a file of 0 bytes", "the whole file");
    PhotoMisnamed "photo-misnamed" "The extension of a photograph's name belongs to another format. Rename the file, and correct its name in the run file."
        run("photos: [{file: streaks.jpg, caption: Streaks before mixing, shows: A}]", "photos: [{file: streaks.png, caption: Streaks before mixing, shows: A}]");
    PhotoNotRead "photo-not-read" "A photograph cannot be read. Check its name; the path starts from the run file's folder."
        run("photos: [{file: streak.png, caption: Streaks before mixing, shows: A}]", "photos: [{file: streaks.png, caption: Streaks before mixing, shows: A}]");
    PhotoOfOtherKind "photo-of-other-kind" "A photograph is neither a JPEG nor a PNG picture. Save it as one of these."
        words("photos: [{file: streaks.heic, caption: Streaks before mixing}]", "photos: [{file: streaks.jpg, caption: Streaks before mixing}]");
    PhotoTooLarge "photo-too-large" "A photograph has too many pixels or bytes. Make it smaller; print needs 300 pixels per inch."
        words("a picture of 100 million pixels", "the same picture made smaller");
    PhotosTooLarge "photos-too-large" "The photographs together are too large. Name fewer, or make them smaller."
        words("ten photographs of 30 MB each", "ten photographs of 3 MB each");
    QuoteNotClosed "quote-not-closed" "A value of the table begins with a quote but does not end with one."
        run("A,31.210 g,42.498 g,10.00 mL,,\"bubble in the pipette", "A,31.210 g,42.498 g,10.00 mL,,bubble in the pipette");
    ReportNotSet "report-not-set" "The pages of the report cannot be laid out. If you use your own template or style, try without it."
        words("fillmark report bath.yaml --template own", "fillmark report bath.yaml");
    ReportTooLarge "report-too-large" "The report would be too large to be read again. Name fewer or smaller photographs, or divide the run."
        words("a run with very many readings and photographs", "several runs, each with its own");
    ResultsNotWritten "results-not-written" "The results cannot be written as JSON. No run file is known to cause this."
        words("fillmark report bath.yaml --results bath.json", "fillmark report bath.yaml");
    SaltTooWeak "salt-too-weak" "The target strength of a solution is not below that of the salt to be added. Correct the target, or the purity or moisture of the salt."
        words("to: 25 %, with a salt of 20 % purity", "to: 19.0 %, with a salt of 99.6 % purity");
    SectionNotApart "section-not-apart" "A section shares a line with other entries, so it cannot be left out of a copy. Put it on its own lines."
        words("{title: Bath 3, known: {bath 3: {mass percent: 18.2 %}}}", "known:\n  bath 3: {mass percent: 18.2 %}");
    SeveralDocuments "several-documents" "A line of --- divides the file into two documents. Write one run in one file."
        run("---\nsolutions:", "solutions:");
    SpreadUnexplained "spread-unexplained" "The weighings of a solution scatter more than balance and ware explain. Look for a misread digit, a bubble or a draught; weigh again."
        run("      - {empty: 28.314 g, filled: 36.903 g, volume: 10.00 mL}", "      - {empty: 28.314 g, filled: 39.603 g, volume: 10.00 mL}");
    StrongerThanStock "stronger-than-stock" "A solution of a plan is to be diluted from a stock that is not stronger. Make the stock stronger, or name another."
        plan("  stock: C", "  stock: A");
    StyleNotRead "style-not-read" "A value in the style file is not valid for its key, or the file is not valid YAML."
        style("paper: B7\n", "paper: A4\n");
    SuspectWeighing "suspect-weighing" "One weighing lies further from the others than chance explains. Check the notebook; leave the weighing out only if something happened, and say what."
        run("      - {empty: 28.316 g, filled: 39.560 g, volume: 10.00 mL}", "      - {empty: 28.316 g, filled: 39.560 g, volume: 10.00 mL, left_out: bubble in the pipette}");
    TabIndent "tab-indent" "A line begins with a tab, which YAML does not allow. Indent with spaces."
        run("\twater: {pure: true}", "  water: {pure: true}");
    TaggedValue "tagged-value" "A text begins with an exclamation mark, which has another meaning in YAML. Put the text in quotes."
        run("notes: !slightly cloudy", r#"notes: "Bath 3: slightly cloudy""#);
    TemperatureUnlikely "temperature-unlikely" "A temperature is below 5 °C or above 45 °C. Look for a misread digit, or degrees Fahrenheit."
        run("conditions: {liquid: 69.1 °C}", "conditions: {liquid: 20.6 °C}");
    TemplateEndless "template-endless" "A template never ends, or makes far more text than a report can need. Look for nested loops."
        template("{% for i in range(9999) %}{% for j in range(9999) %}{{ j }}{% endfor %}{% endfor %}\n", "{% for s in solutions %}{{ s.name }} {% endfor %}\n");
    TemplateFails "template-fails" "A template fails: a name is misspelt, or a value is used in a way it does not allow. The mark shows where."
        template("# {{ titel }}\n", "# {{ title }}\n");
    TemplateNotIncluded "template-not-included" "No template includes this file, so it has no effect. Give it the name of the built-in template it replaces, or include it."
        words("apendix_entries.md", "appendix_entries.md");
    TextAfterFormula "text-after-formula" "A displayed formula ($$) shares its paragraph with text. Put a blank line between."
        template("$$m = V$$ and so on\n", "$$m = V$$\n\nand so on\n");
    TextBesideImage "text-beside-image" "A picture shares its paragraph with text. Put a blank line between."
        template("![](photo:1) beside it\n", "![](photo:1)\n\nbelow it\n");
    TextPartedByComma "text-parted-by-comma" "A text inside braces ends at its comma. Put the text in quotes."
        run("      - {empty: 28.316 g, filled: 39.560 g, volume: 10.00 mL, left_out: bubble, big}", "      - {empty: 28.316 g, filled: 39.560 g, volume: 10.00 mL, left_out: bubble in the pipette}");
    TextTakenForAComment "text-taken-for-a-comment" "Text after # is a comment and is not read. If it belongs to the text, put the whole text in quotes."
        run("title: Strength of brine #3 by density", r#"title: "Strength of brine #3 by density""#);
    TooFewPoints "too-few-points" "The line needs more points: two for a straight line, three for a curve. Make and weigh more solutions."
        run("calibration: {against: mass percent, line: curve, without: [A, B, C, D, E, F]}", "calibration: {against: mass percent, line: curve}");
    TooLittleToWeigh "too-little-to-weigh" "Less of a solution is planned than its weighings need. Plan more of it, or fewer weighings."
        plan("    C: {mass percent: 5 %, volume: 15 mL}", "    C: {mass percent: 5 %, volume: 100 mL}");
    TooManyAliased "too-many-aliased" "Aliases of aliases expand to a very large file. Write the values out."
        run("notes:\n  - &a [cloudy, cloudy, cloudy, cloudy, cloudy, cloudy, cloudy, cloudy, cloudy, cloudy]\n  - &b [*a, *a, *a, *a, *a, *a, *a, *a, *a, *a]\n  - &c [*b, *b, *b, *b, *b, *b, *b, *b, *b, *b]\n  - &d [*c, *c, *c, *c, *c, *c, *c, *c, *c, *c]\n  - &e [*d, *d, *d, *d, *d, *d, *d, *d, *d, *d]\n  - &f [*e, *e, *e, *e, *e, *e, *e, *e, *e, *e]",
            r#"notes: "Bath 3: slightly cloudy""#);
    TooManyClaims "too-many-claims" "A run claims more results than can be compared with the usual mistakes. Claim only those that are to be marked."
        words("claimed: {densities: {…}}, with a thousand densities", "claimed: {densities: {…}}, with two hundred results at most");
    TooManyColumns "too-many-columns" "A line of the table has far too many values. Look for extra separators."
        words("water,,,,,, and so on", "water,31.204 g,41.176 g,10.00 mL");
    TooManyDilutions "too-many-dilutions" "There are too many dilutions in a chain. Start again from a solution that was weighed."
        words("A diluted to B, B to C, and so on a hundred times", "fewer steps from the solution that was weighed");
    TooManyPhotos "too-many-photos" "The run file names more photographs than a report can hold. Name fewer."
        words("more than a hundred entries under photos", "the photographs that matter");
    TooManyRuns "too-many-runs" "A table of runs has more lines than one command accepts. Divide it."
        words("a table of 20,000 lines", "two tables of 10,000 lines");
    TooManySolutions "too-many-solutions" "A plan lists more solutions than are allowed for one bench. Divide it."
        words("a plan of 61 solutions", "two plans, of 31 and 30 solutions");
    TooManyWeighings "too-many-weighings" "The run has more weighings than can be processed. Divide it into several runs."
        words("more than ten thousand weighings", "the weighings of one run; several runs in several files");
    TwiceOnTheCurve "twice-on-the-curve" "The curve turns, so two compositions have the density of the unknown. Look for a wrong point, or ask for a straight line."
        run("    B: [{empty: 31.203 g, filled: 42.449 g, volume: 10.00 mL}]\n    bath 3: [{empty: 31.203 g, filled: 42.601 g, volume: 10.00 mL}]\n…\ncalibration: {against: mass percent, line: curve}",
            "    B: [{empty: 31.203 g, filled: 41.449 g, volume: 10.00 mL}]\n    bath 3: [{empty: 31.203 g, filled: 41.801 g, volume: 10.00 mL}]\n…\ncalibration: {against: mass percent, line: straight}");
    TwoDensities "two-densities" "The density of one solution is found by two methods. Keep one, or give the other another name."
        run("    F: [{density: 1.0870 g/mL, with: spindle}]\n    G: [{density: 1.1090 g/mL, with: spindle}]", "    G: [{density: 1.1090 g/mL, with: spindle}]");
    TwoOrigins "two-origins" "A solution is prepared in two ways at once. Keep the true one."
        run("  water: {pure: true, unknown: true}", "  water: {pure: true}");
    TwoStrengths "two-strengths" "The strength of a solution is planned twice. Keep one."
        plan("    C: {mass percent: 5 %, molarity: 0.88 mol/L, volume: 100 mL}", "    C: {mass percent: 5 %, volume: 100 mL}");
    TwoWeighings "two-weighings" "A mass is given twice: by difference and directly. Keep the one that was read."
        run("    weighed: {before: 82.417 g, after: 19.909 g, mass: 62.508 g}", "    weighed: {before: 82.417 g, after: 19.909 g}");
    UnknownApparatus "unknown-apparatus" "An instrument or vessel is named that is not listed under `apparatus`. Check the spelling, or add it there."
        run("    made_up: {to: 250 mL, in: stok flask}", "    made_up: {to: 250 mL, in: stock flask}");
    UnknownChoice "unknown-choice" "The value is not one of those allowed for this key."
        run("  stock flask: {kind: flagon, capacity: 250 mL, class: A}", "  stock flask: {kind: flask, capacity: 250 mL, class: A}");
    UnknownColumn "unknown-column" "The table has an unknown column. Rename it, or list it under `unread` if it is not needed."
        run("solution,empty,filled,volume,liquid,leftout", "solution,empty,filled,volume,liquid,left_out");
    UnknownEntry "unknown-entry" "A correction names an entry that does not exist. Write it as the program does: section, solution, number, key."
        run("  - {entry: weighings.C.2.filed, was: 39.259 g, now: 39.295 g, why: digits transposed, on: 2026-03-05}", "  - {entry: weighings.C.2.filled, was: 39.259 g, now: 39.295 g, why: digits transposed, on: 2026-03-05}");
    UnknownKey "unknown-key" "A key does not belong here. Check the spelling and the indentation."
        run("      - {empty: 28.319 g, filed: 39.909 g, volume: 10.00 mL}", "      - {empty: 28.319 g, filled: 39.909 g, volume: 10.00 mL}");
    UnknownLabel "unknown-label" "A reference names a label that does not exist."
        template("See [](#loads).\n", "# Loads { #loads }\n\nSee [](#loads).\n");
    UnknownNotWeighed "unknown-not-weighed" "An unknown has no density, so its composition cannot be found. Weigh it, or delete it."
        run("  bath 3: {unknown: true}\n  bath 4: {unknown: true}", "  bath 3: {unknown: true}");
    UnknownPhoto "unknown-photo" "A template shows a photograph that the run file does not name."
        template("![](photo:2)\n", "![](photo:1)\n");
    UnknownPlot "unknown-plot" "A template shows a plot that the report does not have."
        template("![](plot:calibrations)\n", "![](plot:calibration)\n");
    UnknownSolute "unknown-solute" "The salt cannot be identified by its name alone. Give its formula or molar mass too."
        run("solute: bath salt", "solute: {name: sodium chloride, purity: 99.6 ± 0.1 %}");
    UnknownSolution "unknown-solution" "A solution is named that is not listed under `solutions`. Check the spelling, or add it there."
        run("    aliquot: {of: Q, volume: 4 × 20.00 mL, with: twenty pipette}", "    aliquot: {of: A, volume: 4 × 20.00 mL, with: twenty pipette}");
    UnknownTemplate "unknown-template" "`--template` names neither a built-in set of templates nor a folder."
        words("fillmark report bath.yaml --template sumary", "fillmark report bath.yaml --template summary");
    UnknownUnit "unknown-unit" "The unit is not known for this quantity."
        run("      - {empty: 28.319 g, filled: 39.909 gr, volume: 10.00 mL}", "      - {empty: 28.319 g, filled: 39.909 g, volume: 10.00 mL}");
    ValueWithoutColumn "value-without-column" "A line of the table has more values than the heading has columns. A decimal comma divides one value into two."
        run("water,31.204 g,41,176 g,10.00 mL,,", "water,31.204 g,41.176 g,10.00 mL,,");
    WareOutsideTolerance "ware-outside-tolerance" "Ware calibrated at the bench departs from its nominal volume by more than its class allows. It may be worn, misread, or of another class."
        run("      - {empty: 28.312 g, filled: 48.353 g}\n      - {empty: 28.310 g, filled: 48.355 g}\n      - {empty: 28.311 g, filled: 48.352 g}",
            "      - {empty: 28.312 g, filled: 48.253 g}\n      - {empty: 28.310 g, filled: 48.255 g}\n      - {empty: 28.311 g, filled: 48.252 g}");
    WaterNotFilled "water-not-filled" "The pycnometer's reading with water is missing or given twice. Write `filled`, or a list of `readings`."
        run("    water: {liquid: 19.4 °C}", "    water: {filled: 74.850 g, liquid: 19.4 °C}");
    WaterOffPublished "water-off-published" "The measured density of pure water is in error, so the ware, the balance or the temperature is too. Find the cause before relying on the other densities."
        run("      - {empty: 28.312 g, filled: 38.395 g, volume: 10.00 mL}\n      - {empty: 28.319 g, filled: 38.401 g, volume: 10.00 mL}\n      - {empty: 28.316 g, filled: 38.388 g, volume: 10.00 mL}",
            "      - {empty: 28.312 g, filled: 38.295 g, volume: 10.00 mL}\n      - {empty: 28.319 g, filled: 38.301 g, volume: 10.00 mL}\n      - {empty: 28.316 g, filled: 38.288 g, volume: 10.00 mL}");
    WeighingIncomplete "weighing-incomplete" "A weighing by difference lacks one or both of its readings."
        run("    weighed: {before: 82.417 g}", "    weighed: {before: 82.417 g, after: 19.909 g}");
    WordTakenForAnAnchor "word-taken-for-an-anchor" "A text begins with &, which has another meaning in YAML, so its first word is lost. Put the text in quotes."
        run("notes: &slightly cloudy", r#"notes: "Bath 3: slightly cloudy""#);
    WrongApparatus "wrong-apparatus" "The apparatus named is of the wrong kind, such as a balance to measure a volume. Name the right apparatus."
        run("    made_up: {to: 250 mL, in: balance}", "    made_up: {to: 250 mL, in: stock flask}");
    WrongDimension "wrong-dimension" "A value has a unit of another quantity, such as a volume for a mass."
        run("      - {empty: 28.319 g, filled: 39.909 mL, volume: 10.00 mL}", "      - {empty: 28.319 g, filled: 39.909 g, volume: 10.00 mL}");
    WrongShape "wrong-shape" "A single value, a list or a section stands where one of the others belongs."
        run("conditions: 19.4 °C", "conditions:\n  air: 20.5 °C\n  liquid: 19.4 °C\n  thermometer: bath thermometer\n  pressure: 1009 hPa\n  humidity: 52 %");
}

//! The table of codes, in alphabetical order.

use super::{Entry, plan, run, since, style, template, words};

codes! {
    AliasInItself "alias-in-itself" "An alias (*) stands inside the very value that it repeats. Write out what you mean."
        run("notes: &n [cloudy, *n]", r#"notes: "Bath 3: slightly cloudy""#);
    AliquotTooLarge "aliquot-too-large" "More is taken of a solution than the new one is made up to. Look for a wrong number of deliveries, or a wrong mark."
        run("    aliquot: {of: A, volume: 6 × 20.00 mL, with: twenty pipette}", "    aliquot: {of: A, volume: 4 × 20.00 mL, with: twenty pipette}");
    AllLeftOut "all-left-out" "All weighings of a solution or of a piece of ware are left out, so that nothing follows from them. Let one count, or take out the entry."
        run("      F: [{filled: 79.187 g, left_out: bubble}]", "      F: [{filled: 79.187 g}]");
    BenchTwice "bench-twice" "Two lines of a table of runs have the same name of a bench, so that their reports would have the same name. Rename one."
        words("bench,weighings.A.1.filled\n3,41.176\n3,41.178", "bench,weighings.A.1.filled\n3,41.176\n4,41.178");
    BeyondSaturation "beyond-saturation" "A solution is said to hold more salt than dissolves at its temperature. Either salt lay undissolved, or a reading is wrong."
        run("    weighed: {before: 99.274 g, after: 11.262 g}", "    weighed: {before: 61.274 g, after: 11.262 g}");
    Blank "blank" "An entry still waits for its value. Write it in; an optional one may stay blank."
        run("    weighed: {before: 82.417 g, after: }", "    weighed: {before: 82.417 g, after: 19.909 g}");
    CapacityNotListed "capacity-not-listed" "The standard for this kind of ware lists no limits of error for this capacity. Correct the capacity, or write the tolerance printed on the ware."
        run("  burette: {kind: burette, capacity: 90 mL, division: 0.2 mL, class: A}", "  burette: {kind: burette, capacity: 100 mL, division: 0.2 mL, class: A}");
    CaptionAstray "caption-astray" "A caption is not followed by its table or figure. Put it right before, with a blank line between."
        template("Table #loads: Loads\n\nText.\n\n| Load |\n|:--|\n| one |\n", "Table #loads: Loads\n\n| Load |\n|:--|\n| one |\n");
    CellsDiffer "cells-differ" "A row of a table has more or fewer cells than the head of the table."
        template("| Load | Mass |\n|:--|--:|\n| one |\n", "| Load | Mass |\n|:--|--:|\n| one | 1.0 |\n");
    ChangeNotExplained "change-not-explained" "A value is not what it was in the last report, and no correction says why. Add one, or put the old value back."
        since("      - {empty: 28.319 g, filled: 39.909 g, volume: 10.00 mL}\n…\ncorrections:",
            "      - {empty: 28.319 g, filled: 39.990 g, volume: 10.00 mL}\n…\ncorrections:",
            "      - {empty: 28.319 g, filled: 39.990 g, volume: 10.00 mL}\n…\ncorrections:\n  - {entry: weighings.A.1.filled, was: 39.909 g, now: 39.990 g, why: digits transposed}");
    ClaimNotCalculated "claim-not-calculated" "A result is claimed that does not follow from this run, such as the mass percent of a solution without a density. Name another solution or step, or take it out."
        run("claimed: {mass of salt: {water: 5.001 g}}", "claimed: {densities: {water: 0.998 g/mL}}");
    ColumnNamedTwice "column-named-twice" "One column of the table is given two meanings under `columns` or `unread`. Each column has one."
        run("  weighings: {from: readings.csv, columns: {empty: filled, filled: filled}}", "  weighings: {from: readings.csv}");
    ColumnUsedTwice "column-used-twice" "Two columns of the table have the same name, so that it is not clear which is meant. Rename one."
        run("solution,empty,filled,volume,filled,left_out", "solution,empty,filled,volume,liquid,left_out");
    ConcentrationNotKnown "concentration-not-known" "A solution is pipetted from one made by mass whose density was not measured, so that the salt in a volume of it is not known. Weigh a known volume of it too."
        run("  H:\n    weighed: {mass: 20.113 g}\n    solvent: {mass: 80.021 g}\n  D:\n    aliquot: {of: H, volume: 2 × 20.00 mL, with: twenty pipette}",
            "  D:\n    aliquot: {of: A, volume: 2 × 20.00 mL, with: twenty pipette}");
    ControlCharacter "control-character" "The file or a text in it holds a character that cannot be seen. Type the text again, and save the file as plain text in UTF-8."
        run(r#"notes: "Bath 3: slightly \a cloudy""#, r#"notes: "Bath 3: slightly cloudy""#);
    CorrectedBeforeTheWork "corrected-before-the-work" "A correction has a day before that of the work. Correct one of the two days."
        run("  - {entry: weighings.C.2.filled, was: 39.259 g, now: 39.295 g, why: digits transposed, on: 2025-03-05}", "  - {entry: weighings.C.2.filled, was: 39.259 g, now: 39.295 g, why: digits transposed, on: 2026-03-05}");
    CorrectionLacks "correction-lacks" "A correction under `allow_for` needs something that is not given, such as the temperature of the air. Write it, or take the correction out."
        run("conditions:\n  liquid: 19.4 °C", "conditions:\n  air: 20.5 °C\n  liquid: 19.4 °C");
    CorrectionNotMade "correction-not-made" "The record of corrections says a value that the entry itself has not. Change the entry, or the record."
        run("  - {entry: weighings.C.2.filled, was: 39.259 g, now: 39.925 g, why: digits transposed, on: 2026-03-05}", "  - {entry: weighings.C.2.filled, was: 39.259 g, now: 39.295 g, why: digits transposed, on: 2026-03-05}");
    CorrectionWasOtherwise "correction-was-otherwise" "A correction says another old value than the last report has. Copy `was` from that report."
        since("      - {empty: 28.319 g, filled: 39.909 g, volume: 10.00 mL}\n…\ncorrections:",
            "      - {empty: 28.319 g, filled: 39.990 g, volume: 10.00 mL}\n…\ncorrections:\n  - {entry: weighings.A.1.filled, was: 39.099 g, now: 39.990 g, why: digits transposed}",
            "      - {empty: 28.319 g, filled: 39.990 g, volume: 10.00 mL}\n…\ncorrections:\n  - {entry: weighings.A.1.filled, was: 39.909 g, now: 39.990 g, why: digits transposed}");
    DecimalComma "decimal-comma" "A number has a comma, which may be a decimal comma or part thousands. Write a decimal point and no commas."
        run("      - {empty: 28.319 g, filled: 39,909 g, volume: 10.00 mL}", "      - {empty: 28.319 g, filled: 39.909 g, volume: 10.00 mL}");
    DecimalCommasRead "decimal-commas-read" "A table divided by semicolons or tabs has decimal commas throughout, which are read as points. If that is what they are, nothing needs to be done."
        words("A;50,10;60,08;10,00", "A;50.10;60.08;10.00");
    DensityFarOff "density-far-off" "A weighing comes to a density that no brine has. Look for a lost decimal point, a wrong unit or a wrong volume."
        run("      - {empty: 28.319 g, filled: 39909 g, volume: 10.00 mL}", "      - {empty: 28.319 g, filled: 39.909 g, volume: 10.00 mL}");
    DensityOffPublished "density-off-published" "A density differs from the published one of its composition by more than the uncertainties explain. Look for a slip in its making or weighing before you repeat it."
        run("      - {empty: 28.314 g, filled: 39.630 g, volume: 10.00 mL}\n      - {empty: 28.319 g, filled: 39.629 g, volume: 10.00 mL}\n      - {empty: 28.315 g, filled: 39.628 g, volume: 10.00 mL}",
            "      - {empty: 28.314 g, filled: 39.292 g, volume: 10.00 mL}\n      - {empty: 28.315 g, filled: 39.295 g, volume: 10.00 mL}\n      - {empty: 28.319 g, filled: 39.286 g, volume: 10.00 mL}");
    DigitsNotShown "digits-not-shown" "A reading has more or fewer digits than its balance shows. Write every digit of the display, zeros too."
        run("      - {empty: 28.312 g, filled: 38.3 g, volume: 10.00 mL}", "      - {empty: 28.312 g, filled: 38.295 g, volume: 10.00 mL}");
    DilutionOfUnknown "dilution-of-unknown" "A solution is diluted from one of unknown strength, so that its own is not known either. Name the solution that was taken, or make it an unknown too."
        run("    aliquot: {of: bath 3, volume: 2 × 20.00 mL, with: twenty pipette}", "    aliquot: {of: A, volume: 2 × 20.00 mL, with: twenty pipette}");
    DilutionOfWater "dilution-of-water" "A dilution is taken from pure water. Name the solution that was diluted."
        run("    aliquot: {of: water, volume: 2 × 20.00 mL, with: twenty pipette}", "    aliquot: {of: A, volume: 2 × 20.00 mL, with: twenty pipette}");
    DilutionRing "dilution-ring" "Solutions are diluted from each other in a ring, so that none was there first. Name the solution that was weighed."
        run("    aliquot: {of: D, volume: 2 × 20.00 mL, with: twenty pipette}", "    aliquot: {of: A, volume: 2 × 20.00 mL, with: twenty pipette}");
    DividerNotClear "divider-not-clear" "The table of weighings is divided by commas in one place and by semicolons or tabs in another. Use one of them throughout."
        run("solution,empty;filled,volume,liquid,left_out", "solution,empty,filled,volume,liquid,left_out");
    DivisionNotListed "division-not-listed" "The standard lists no burette of this capacity with this division. Read the scale again, or write the tolerance printed on the burette."
        run("  burette: {kind: burette, capacity: 100 mL, division: 0.02 mL, class: A}", "  burette: {kind: burette, capacity: 100 mL, division: 0.2 mL, class: A}");
    EmptyFile "empty-file" "The file holds nothing but blanks or comments. `fillmark start` writes a run file to fill in."
        words("a file in which nothing is written", "a run file as `fillmark start` writes it, filled in");
    EntryNotReplaced "entry-not-replaced" "A table of runs has a value for an entry that the run file writes over several lines or by an alias. Leave the entry blank in the run file."
        words("procedure: [weigh the salt, make it up]", "procedure:");
    FewRinses "few-rinses" "Ware took another liquid after fewer than three rinses, so that what clung to it mixed with the next. Rinse more often, or repeat the step."
        run("practice: {rinsed: 0, mixed: inverted ten times}", "practice: {rinsed: 3, mixed: inverted ten times}");
    FileBesideNotRead "file-beside-not-read" "A table of weighings or an earlier report that the run file names cannot be read. Look at its name; the path begins at the run file's folder."
        run("  weighings: {from: reading.csv}", "  weighings: {from: readings.csv}");
    FileNotRead "file-not-read" "A file named on the command line cannot be read. Look at its name and folder, and whether you may read it."
        words("fillmark check bathh.yaml", "fillmark check bath.yaml");
    FileTooLarge "file-too-large" "The style file is far longer than one can be. Another file was probably named."
        words("fillmark report bath.yaml --style photo.jpg", "fillmark report bath.yaml --style style.yaml");
    FilledNotHeavier "filled-not-heavier" "A vessel is not heavier filled than empty, or no heavier after a delivery than before. The readings are exchanged, or a digit is wrong."
        run("      - {empty: 39.909 g, filled: 28.319 g, volume: 10.00 mL}", "      - {empty: 28.319 g, filled: 39.909 g, volume: 10.00 mL}");
    FormulaInLine "formula-in-line" "A displayed formula ($$) stands in the middle of a text. Give it a paragraph of its own, or use single $ signs."
        template("The mass is $$m$$ here.\n", "The mass is $m$ here.\n");
    FormulaNotRead "formula-not-read" "The formula of the salt holds a symbol that is no element. Correct it, or give the molar mass instead."
        run("solute: {name: sodium chloride, formula: NaCi}", "solute: {name: sodium chloride, purity: 99.6 ± 0.1 %}");
    ImageInLine "image-in-line" "A picture stands in the middle of a text. Give it a paragraph of its own."
        template("| Plot |\n|:--|\n| ![](photo:1) |\n", "![](photo:1)\n");
    KeyNotText "key-not-text" "A list or a section stands where a name belongs, before the colon."
        run("  [water]: {pure: true}", "  water: {pure: true}");
    KeyTwice "key-twice" "A key stands twice in the style file. Keep one."
        style("paper: A4\npaper: A4\n", "paper: A4\n");
    KeyUsedTwice "key-used-twice" "A key stands twice in one entry, so that it is not clear which value is meant. Keep one."
        run("    weighed: {before: 82.417 g, after: 19.909 g, before: 82.471 g}", "    weighed: {before: 82.417 g, after: 19.909 g}");
    KeyWithoutColon "key-without-colon" "A key and its value are not parted by a colon and a blank."
        run("  water: {pure:true}", "  water: {pure: true}");
    LabelTwice "label-twice" "Two sections, tables or formulas have the same label. Give each its own."
        template("# Aim { #aim }\n\n# Method { #aim }\n", "# Aim { #aim }\n\n# Method { #method }\n");
    LastDigitHabit "last-digit-habit" "All readings of a balance end in 0 or 5, as if rounded by eye. Write the digits that the balance shows."
        run("    weighed: {before: 61.275 g, after: 11.260 g}\n…\n    water: [{empty: 31.205 g, filled: 41.175 g, volume: 10.00 mL}]\n    A: [{empty: 31.205 g, filled: 42.480 g, volume: 10.00 mL}]\n    B: [{empty: 31.205 g, filled: 41.450 g, volume: 10.00 mL}]\n    bath 3: [{empty: 31.205 g, filled: 41.800 g, volume: 10.00 mL}]",
            "    weighed: {before: 61.274 g, after: 11.262 g}\n…\n    water: [{empty: 31.204 g, filled: 41.176 g, volume: 10.00 mL}]\n    A: [{empty: 31.204 g, filled: 42.480 g, volume: 10.00 mL}]\n    B: [{empty: 31.203 g, filled: 41.449 g, volume: 10.00 mL}]\n    bath 3: [{empty: 31.203 g, filled: 41.801 g, volume: 10.00 mL}]");
    LimitWithUncertainty "limit-with-uncertainty" "A limit has an uncertainty. Write the limit alone; the result has the uncertainty."
        run("limits: {bath 3: {mass percent: 18.0 ± 0.1 to 20.0 %, rule: {guard_band: 0.1 %}}}", "limits: {bath 3: {mass percent: 18.0 to 20.0 %, rule: {guard_band: 0.1 %}}}");
    LimitsUnknown "limits-unknown" "Nothing says how well an instrument measures. Write its class, readability, accuracy or tolerance."
        run("  spindle: {kind: hydrometer}", "  spindle: {kind: hydrometer, readability: 0.0005 g/mL, accuracy: 0.001 g/mL}");
    LineDeparts "line-departs" "The points do not lie on the line or curve, so that what is read from it is less certain than it looks. Try a curve, or look for a wrong point."
        run("calibration: {against: mass percent, line: straight}", "calibration: {against: mass percent, line: curve}");
    LogoNotRead "logo-not-read" "The picture named as the logo cannot be used. Name a PNG or JPEG in the style file's folder."
        style("logo: none.png\n", "logo: logo.png\n");
    LoneCarriageReturn "lone-carriage-return" "The line ends of the file are those of very old programs, so that lines cannot be counted. Save it with the line ends of Windows or Unix."
        words("line ends: CR", "line ends: CR LF, or LF");
    MalformedFormula "malformed-formula" "A formula of a template is not TeX that is known here."
        template("The density is $\\nosuch$.\n", "The density is $\\rho$.\n");
    MergeKey "merge-key" "The sign << copies keys from elsewhere, which a run file does not do. Write the keys out."
        run("  bath thermometer: {<<: {kind: thermometer}, readability: 0.1 °C, accuracy: 0.2 °C}", "  bath thermometer: {kind: thermometer, readability: 0.1 °C, accuracy: 0.2 °C}");
    MissingColumn "missing-column" "The table of weighings lacks a column that is needed. Rename the column, or say under `columns` what it is called."
        run("solution,empty,filed,volume,liquid,left_out", "solution,empty,filled,volume,liquid,left_out");
    MissingGlyph "missing-glyph" "No typeface of the report has a character of the text; a sign for a missing one is printed. Write it in other characters."
        words("title: Strength of a brine 🧂", "title: Strength of a brine");
    MissingKey "missing-key" "An entry lacks a key that it needs."
        run("  balance: {kind: balance}", "  balance: {kind: balance, readability: 0.001 g, repeatability: 0.001 g}");
    MoreProblems "more-problems" "The file has more problems than are listed. Mend the first ones and check again: one mistake often makes many problems."
        words("a file of which every line is wrong", "the first mistakes mended, and the file checked again");
    MoreThanTheStockGives "more-than-the-stock-gives" "There is not enough of the stock of a plan for all that is to be diluted from it. Plan less, or a larger flask."
        plan("    A: {mass percent: 10 %, volume: 240 mL}", "    A: {mass percent: 10 %, volume: 150 mL}");
    NameUsedTwice "name-used-twice" "Two solutions or two pieces of apparatus have the same name. Give each its own."
        run("  bath 3: {unknown: true}\n  bath 3: {unknown: true}", "  bath 3: {unknown: true}");
    NestedTooDeep "nested-too-deep" "Lists or sections stand inside each other far deeper than needed. Look for brackets too many."
        run("notes: [[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[cloudy]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]", r#"notes: "Bath 3: slightly cloudy""#);
    NoCalibration "no-calibration" "No line can be drawn through the points, as they do not differ enough in composition. Use solutions of several strengths."
        run("calibration: {against: mass percent, line: straight, without: [A, B]}\n…\n  water: {pure: true}\n  more water: {pure: true}\n…\n    water: [{empty: 31.204 g, filled: 41.176 g, volume: 10.00 mL}]\n    more water: [{empty: 31.204 g, filled: 41.176 g, volume: 10.00 mL}]",
            "calibration: {against: mass percent, line: straight}\n…\n  water: {pure: true}\n…\n    water: [{empty: 31.204 g, filled: 41.176 g, volume: 10.00 mL}]");
    NoComposition "no-composition" "Limits, a strength to reach or a known composition are given for a solution whose composition is not known. Measure its density, or name another solution."
        run("adjust: {water: {to: 19.0 %, volume: 1200 ± 20 L}}", "adjust: {bath 3: {to: 19.0 %, volume: 1200 ± 20 L}}");
    NoDensity "no-density" "A solution has no density and none is made from it, so that it takes no part. Weigh it; perhaps its weighings stand under another name."
        run("  bath 3: {unknown: true}\n  H:\n    weighed: {mass: 5.001 g}\n    solvent: {mass: 95.003 g}", "  bath 3: {unknown: true}");
    NoEarlierCalibration "no-earlier-calibration" "The earlier report that the run file names has no calibration, or one for another salt. Name the report of a run with a calibration."
        words("calibration: {from: weekly.pdf}, where no solutions were made", "calibration: {from: march.pdf}, a report with a calibration line");
    NoHeading "no-heading" "The first line of the table of weighings does not name its columns."
        run("water,31.204 g,41.176 g,10.00 mL,,", "solution,empty,filled,volume,liquid,left_out\nwater,31.204 g,41.176 g,10.00 mL,,");
    NoInstrument "no-instrument" "It is not said what a reading was made with. Name the balance, pipette or hydrometer, at the reading or under `density`."
        run("    solvent: {volume: 85.3 mL}", "    solvent: {volume: 85.3 mL, with: burette}");
    NoName "no-name" "A solution, a piece of apparatus or a weighing has an empty name."
        run("  \"\": {pure: true}", "  water: {pure: true}");
    NoPublishedDensity "no-published-density" "A plan, or `calibration: published`, needs published densities, and there are none of this salt, strength or temperature."
        plan("conditions: {liquid: -10 °C}", "conditions: {liquid: 21 °C}");
    NoReason "no-reason" "Something is left out, or not done, with no reason given. Write why; or take the key out."
        run("      - {empty: 28.316 g, filled: 39.560 g, volume: 10.00 mL, left_out: yes}", "      - {empty: 28.316 g, filled: 39.560 g, volume: 10.00 mL, left_out: bubble in the pipette}");
    NoRoom "no-room" "The margins of the style file leave too little room for text."
        style("margins: {left: 70 mm, right: 70 mm}\n", "margins: {left: 25 mm, right: 25 mm}\n");
    NoRoomBetweenLimits "no-room-between-limits" "A guard band is so wide that no result lies within the limits. State a narrower one."
        run("limits: {bath 3: {mass percent: 18.0 to 20.0 %, rule: {guard_band: 1.1 %}}}", "limits: {bath 3: {mass percent: 18.0 to 20.0 %, rule: {guard_band: 0.1 %}}}");
    NoSlope "no-slope" "No density follows from a series of deliveries, as no line can be drawn through its masses. Look at its volumes and masses."
        words("deliveries whose volumes or masses allow no line", "several deliveries of known volume, each with its mass");
    NoSuchScale "no-such-scale" "The scales of the trade are those of sodium chloride brine, and this is another salt. Take `scales` out."
        run("solute: potassium chloride", "solute: {name: sodium chloride, purity: 99.6 ± 0.1 %}");
    NoTemperature "no-temperature" "The temperature of a liquid is not given. Write `liquid` under `conditions`, or at the weighing."
        run("  air: 20.5 °C\n", "  air: 20.5 °C\n  liquid: 19.4 °C\n");
    NoTemperatureModel "no-temperature-model" "Densities are to be brought to one temperature, which is known for sodium and potassium chloride only. Take `density_at` out."
        run("solute: {name: calcium chloride, formula: CaCl2, density: 2150 kg/m³}", "solute: {name: sodium chloride, purity: 99.6 ± 0.1 %}");
    NoUnknown "no-unknown" "Unknowns are to be read from published densities or an earlier calibration, and no solution is unknown. Mark one, or take the key out."
        words("`calibration: published` without an unknown", "a solution with `unknown: true`");
    NoVessel "no-vessel" "More of a solution is planned than any flask or cylinder holds. Plan less of it, or name a larger one."
        plan("    A: {mass percent: 10 %, volume: 300 mL}", "    A: {mass percent: 10 %, volume: 150 mL}");
    NoWare "no-ware" "A plan has no balance, no flask or no pipette to make solutions with. Name one under `apparatus`."
        plan("  scale: {kind: thermometer, accuracy: 0.2 °C}", "  scale: {kind: balance, readability: 0.01 g}");
    NoWay "no-way" "No way was found to make what is planned. Name more ware, or plan other strengths."
        words("a plan of more solutions than its ware can make", "the same with another flask and pipette");
    NoWeighing "no-weighing" "The table has a heading and no weighing below it."
        run("solution,empty,filled,volume,liquid,left_out\n", "solution,empty,filled,volume,liquid,left_out\nwater,31.204 g,41.176 g,10.00 mL,,\nA,31.204,42.480,10.00,20.8 °C,\nA,31.210 g,42.498 g,10.00 mL,,bubble in the pipette\nB,31203 mg,41449 mg,10.00 mL,,\nbath 3,31.203 g,41.801 g,10.00 mL,,\n");
    NotACount "not-a-count" "A number of deliveries or rinses cannot be read. Write a whole number; deliveries as 4 × 20.00 mL."
        run("    aliquot: {of: A, volume: 20.00 mL × 4, with: twenty pipette}", "    aliquot: {of: A, volume: 4 × 20.00 mL, with: twenty pipette}");
    NotADay "not-a-day" "A date is not a day of the calendar as YYYY-MM-DD."
        run("date: 4 March 2026", "date: 2026-03-04");
    NotANumber "not-a-number" "A reading cannot be read as a number. Look for a letter among the digits, or a sign too many."
        run("      - {empty: 28.319 g, filled: 39.9O9 g, volume: 10.00 mL}", "      - {empty: 28.319 g, filled: 39.909 g, volume: 10.00 mL}");
    NotARange "not-a-range" "A range is not two values, the lower one first, or limits are not written as in 18 to 20 %, at least 18 %, or at most 20 %."
        plan("  unknown: {expected: 8 to 3 %}", "  unknown: {expected: 3 to 8 %}");
    NotAnUncertainty "not-an-uncertainty" "What stands after ± is not a standard uncertainty greater than zero. Correct it, or take the ± out."
        run("solute: {name: sodium chloride, purity: 99.6 ± 0 %}", "solute: {name: sodium chloride, purity: 99.6 ± 0.1 %}");
    NotCompared "not-compared" "What `--since` names is neither a report nor a run file that can be read, so that nothing is compared."
        words("fillmark check bath.yaml --since notes.txt", "fillmark check bath.yaml --since bath.pdf");
    NotOfThisScale "not-of-this-scale" "What is stated of an instrument belongs to another scale than it has. Take the key out, or name its scale."
        words("a modulus at a scale of specific gravity", "the modulus at `scale: degrees Baumé` alone");
    NotOnTheCurve "not-on-the-curve" "No composition on the calibration has the density of the unknown. Look for a slip in its weighings or in a point of the curve, or make a standard beyond it."
        run("    B: [{empty: 31.203 g, filled: 42.449 g, volume: 10.00 mL}]\n    bath 3: [{empty: 31.203 g, filled: 43.801 g, volume: 10.00 mL}]\n…\ncalibration: {against: mass percent, line: curve}",
            "    B: [{empty: 31.203 g, filled: 41.449 g, volume: 10.00 mL}]\n    bath 3: [{empty: 31.203 g, filled: 41.801 g, volume: 10.00 mL}]\n…\ncalibration: {against: mass percent, line: straight}");
    NotRecorded "not-recorded" "It is not recorded how ware was rinsed, or how solutions were mixed. Write it under `practice`, if it was done."
        run("practice: {rinsed: 3}", "practice: {rinsed: 3, mixed: inverted ten times}");
    NotToBeMeasured "not-to-be-measured" "No ware at hand makes a solution of a plan as strong as is wanted. Plan a strength that it makes, or name other ware."
        plan("    C: {mass percent: 0.01 %, volume: 100 mL}", "    C: {mass percent: 5 %, volume: 100 mL}");
    NotTrue "not-true" "A key can only be true. If it does not apply, take it out."
        run("  air_buoyancy: false", "  air_buoyancy: true");
    NotUtf8 "not-utf-8" "The file is not text as other programs expect it. Save it as plain text in UTF-8."
        words("saved as UTF-16, or from a word processor", "saved as plain text, UTF-8");
    NotYaml "not-yaml" "The lines cannot be read: a quote, bracket, colon or blank is missing or too many, or a line is indented wrongly. The mark shows where."
        run("notes: Bath 3: slightly cloudy", r#"notes: "Bath 3: slightly cloudy""#);
    NothingCorrected "nothing-corrected" "A correction says the same value before and after. Write what stood there before."
        run("  - {entry: weighings.C.2.filled, was: 39.295 g, now: 39.295 g, why: digits transposed, on: 2026-03-05}", "  - {entry: weighings.C.2.filled, was: 39.259 g, now: 39.295 g, why: digits transposed, on: 2026-03-05}");
    NothingFitted "nothing-fitted" "How a line is fitted is stated where unknowns are read from published densities. Take the key out."
        words("`calibration: {line: published, fit: weighted}`", "`calibration: published`");
    NothingTaken "nothing-taken" "A vessel is not lighter after it was emptied than before, so that no salt left it. The readings are exchanged, or a digit is wrong."
        run("    weighed: {before: 19.909 g, after: 82.417 g}", "    weighed: {before: 82.417 g, after: 19.909 g}");
    NothingToAcknowledge "nothing-to-acknowledge" "A flag is acknowledged that is not raised there. Take the acknowledgement out, or correct its `at`."
        run("practice: {rinsed: 3, mixed: inverted ten times}\nacknowledged: [{flag: few-rinses, why: little was left}]", "practice: {rinsed: 3, mixed: inverted ten times}");
    NothingToExtract "nothing-to-extract" "The file is not a report of this program, or is no longer whole, so that nothing can be taken from it."
        words("fillmark extract bath.docx", "fillmark extract bath.pdf");
    NothingToPool "nothing-to-pool" "The spreads of all solutions are to be put together, but none was weighed twice. Weigh one again, or take `repeatability` out."
        run("  repeatability: pooled\n  weighings:\n    water: [{empty: 31.204 g, filled: 41.176 g, volume: 10.00 mL}]",
            "  weighings:\n    water: [{empty: 31.204 g, filled: 41.176 g, volume: 10.00 mL}]");
    NothingWritten "nothing-written" "A solution stands among the weighings without any. Write them, or take its name out."
        run("    water: []", "    water: [{empty: 31.204 g, filled: 41.176 g, volume: 10.00 mL}]");
    OffTheMark "off-the-mark" "A flask or pipette with one mark is said to hold another volume than that of its mark. Correct the volume, or name other ware."
        run("    made_up: {to: 200 mL, in: stock flask}", "    made_up: {to: 250 mL, in: stock flask}");
    OnAnotherScale "on-another-scale" "A reading is not on the scale of the instrument that is named for it. Write it as the instrument shows it, or state the instrument's scale."
        words("`18 °Bé` with a spindle that shows specific gravity", "`specific gravity 1.142`");
    OneColumn "one-column" "The heading of the table is not divided into columns. Put commas, semicolons or tabs between their names."
        run("solution empty filled volume liquid left_out", "solution,empty,filled,volume,liquid,left_out");
    OriginIncomplete "origin-incomplete" "It is only half said how a solution was made. Weighed salt needs `made_up` or `solvent`; an aliquot needs `made_up`."
        run("    weighed: {before: 82.417 g, after: 19.909 g}", "    weighed: {before: 82.417 g, after: 19.909 g}\n    made_up: {to: 250 mL, in: stock flask}");
    OtherFile "other-file" "This is a plan where a run file belongs, or a run file where a plan belongs."
        words("fillmark check plan.yaml", "fillmark plan plan.yaml");
    OutOfRange "out-of-range" "A value is not one that this entry can have. Look for a missing unit or %, a wrong sign, or a digit too many."
        run("  humidity: 52", "  humidity: 52 %");
    OutsideCalibration "outside-calibration" "An unknown is stronger or weaker than all points of the line, which is a guess there. Make a standard beyond it, or dilute the unknown."
        run("    bath 3: [{empty: 31.203 g, filled: 42.801 g, volume: 10.00 mL}]", "    bath 3: [{empty: 31.203 g, filled: 41.801 g, volume: 10.00 mL}]");
    OutsidePublishedRange "outside-published-range" "The published formula that is needed does not hold for this temperature or composition. Check the value, or take the correction out."
        run("  air: 32 °C", "  air: 20.5 °C");
    OverCapacity "over-capacity" "More is measured in a vessel than it holds. Correct the volume, or name other ware."
        run("    made_up: {to: 150.0 mL, in: tall cylinder}", "    made_up: {to: 100.0 mL, in: tall cylinder}");
    OverTheMark "over-the-mark" "A vessel was filled over its mark, so that the solution is weaker than calculated. Better make it again."
        run("    made_up: {to: 250 mL, in: stock flask, over_mark: 5 mL}", "    made_up: {to: 250 mL, in: stock flask}");
    PathNotBeside "path-not-beside" "A file is named by a path that leads out of the run file's folder. Put it into the folder."
        run("photos: [{file: ../streaks.png, caption: Streaks before mixing, shows: A}]", "photos: [{file: streaks.png, caption: Streaks before mixing, shows: A}]");
    PhotoCutShort "photo-cut-short" "The end of a photograph's file is missing. Copy it again."
        words("a file whose copying broke off", "the whole file");
    PhotoDamaged "photo-damaged" "A photograph's file is damaged, and no picture can be made of it. Copy or save it again."
        words("a damaged file", "a file that other programs can show");
    PhotoEmpty "photo-empty" "A photograph's file holds nothing. Copy it again."
        words("a file of 0 bytes", "the whole file");
    PhotoMisnamed "photo-misnamed" "The name of a photograph ends as if it were of another kind. Rename the file, and name it so here."
        run("photos: [{file: streaks.jpg, caption: Streaks before mixing, shows: A}]", "photos: [{file: streaks.png, caption: Streaks before mixing, shows: A}]");
    PhotoNotRead "photo-not-read" "A photograph cannot be read. Look at its name; the path begins at the run file's folder."
        run("photos: [{file: streak.png, caption: Streaks before mixing, shows: A}]", "photos: [{file: streaks.png, caption: Streaks before mixing, shows: A}]");
    PhotoOfOtherKind "photo-of-other-kind" "A photograph is neither a JPEG nor a PNG picture. Save it as one of these."
        words("photos: [{file: streaks.heic, caption: Streaks before mixing}]", "photos: [{file: streaks.jpg, caption: Streaks before mixing}]");
    PhotoTooLarge "photo-too-large" "A photograph has too many pixels or bytes. Make it smaller; print shows 300 pixels to the inch."
        words("a picture of 100 million pixels", "the same picture made smaller");
    PhotosTooLarge "photos-too-large" "The photographs are too large together. Name fewer, or make them smaller."
        words("ten photographs of 30 MB each", "ten photographs of 3 MB each");
    QuoteNotClosed "quote-not-closed" "A value of the table begins with a quote and does not end with one."
        run("A,31.210 g,42.498 g,10.00 mL,,\"bubble in the pipette", "A,31.210 g,42.498 g,10.00 mL,,bubble in the pipette");
    ReportNotSet "report-not-set" "The pages of the report cannot be made. If your own template or style is used, try without it."
        words("fillmark report bath.yaml --template own", "fillmark report bath.yaml");
    ReportTooLarge "report-too-large" "The report would be too large to be read again. Name fewer or smaller photographs, or divide the run."
        words("a run with very many readings and photographs", "several runs, each with its own");
    ResultsNotWritten "results-not-written" "The results cannot be written as JSON. No run file is known that does this."
        words("fillmark report bath.yaml --results bath.json", "fillmark report bath.yaml");
    SaltTooWeak "salt-too-weak" "A solution is to become stronger than the salt that is added. Correct the strength wanted, or the purity or moisture of the salt."
        words("to: 25 %, with a salt of 20 % purity", "to: 19.0 %, with a salt of 99.6 % purity");
    SectionNotApart "section-not-apart" "A section cannot be left out of a copy because it shares a line with other entries. Put it on its own lines."
        words("{title: Bath 3, known: {bath 3: {mass percent: 18.2 %}}}", "known:\n  bath 3: {mass percent: 18.2 %}");
    SeveralDocuments "several-documents" "A line of --- parts the file into two. Write one run in one file."
        run("---\nsolutions:", "solutions:");
    SpreadUnexplained "spread-unexplained" "The weighings of a solution scatter more than balance and ware explain. Look for a misread digit, a bubble or a draught; weigh again."
        run("      - {empty: 28.314 g, filled: 36.903 g, volume: 10.00 mL}", "      - {empty: 28.314 g, filled: 39.603 g, volume: 10.00 mL}");
    StrongerThanStock "stronger-than-stock" "A solution of a plan is to be diluted from a stock that is not stronger. Make the stock stronger, or name another."
        plan("  stock: C", "  stock: A");
    StyleNotRead "style-not-read" "The style file has a value that its key cannot have, or is no YAML."
        style("paper: B7\n", "paper: A4\n");
    SuspectWeighing "suspect-weighing" "One weighing lies further from the others than chance explains. Look in the notebook; leave it out only if something happened, and say what."
        run("      - {empty: 28.316 g, filled: 39.560 g, volume: 10.00 mL}", "      - {empty: 28.316 g, filled: 39.560 g, volume: 10.00 mL, left_out: bubble in the pipette}");
    TabIndent "tab-indent" "A line begins with a tab, which YAML does not allow. Indent with spaces."
        run("\twater: {pure: true}", "  water: {pure: true}");
    TaggedValue "tagged-value" "A text begins with an exclamation mark, which means something else in YAML. Put the text in quotes."
        run("notes: !slightly cloudy", r#"notes: "Bath 3: slightly cloudy""#);
    TemperatureUnlikely "temperature-unlikely" "A temperature is below 5 °C or above 45 °C. Look for a misread digit, or degrees Fahrenheit."
        run("conditions: {liquid: 69.1 °C}", "conditions: {liquid: 20.6 °C}");
    TemplateEndless "template-endless" "A template goes on without end, or makes far more text than a report can need. Look for loops within loops."
        template("{% for i in range(9999) %}{% for j in range(9999) %}{{ j }}{% endfor %}{% endfor %}\n", "{% for s in solutions %}{{ s.name }} {% endfor %}\n");
    TemplateFails "template-fails" "A template cannot be used: a name is misspelt, or something is used in a way that it does not allow. The mark shows where."
        template("# {{ titel }}\n", "# {{ title }}\n");
    TemplateNotIncluded "template-not-included" "No template includes this file, so that it does nothing. Name it like the built-in one that it replaces, or include it."
        words("apendix_entries.md", "appendix_entries.md");
    TextAfterFormula "text-after-formula" "A displayed formula ($$) shares its paragraph with text. Put a blank line between."
        template("$$m = V$$ and so on\n", "$$m = V$$\n\nand so on\n");
    TextBesideImage "text-beside-image" "A picture shares its paragraph with text. Put a blank line between."
        template("![](photo:1) beside it\n", "![](photo:1)\n\nbelow it\n");
    TextPartedByComma "text-parted-by-comma" "A text inside braces ends at its comma. Put the text in quotes."
        run("      - {empty: 28.316 g, filled: 39.560 g, volume: 10.00 mL, left_out: bubble, big}", "      - {empty: 28.316 g, filled: 39.560 g, volume: 10.00 mL, left_out: bubble in the pipette}");
    TextTakenForAComment "text-taken-for-a-comment" "What stands after # is not read. If it belongs to the text, put the whole text in quotes."
        run("title: Strength of brine #3 by density", r#"title: "Strength of brine #3 by density""#);
    TooFewPoints "too-few-points" "A line needs more points than there are: two for a straight line, three for a curve. Make and weigh more solutions."
        run("calibration: {against: mass percent, line: curve, without: [A, B, C, D, E, F]}", "calibration: {against: mass percent, line: curve}");
    TooLittleToWeigh "too-little-to-weigh" "Less of a solution is planned than its weighings take. Plan more of it, or fewer weighings."
        plan("    C: {mass percent: 5 %, volume: 15 mL}", "    C: {mass percent: 5 %, volume: 100 mL}");
    TooManyAliased "too-many-aliased" "Aliases of aliases make a small file stand for a very large one. Write out what you mean."
        run("notes:\n  - &a [cloudy, cloudy, cloudy, cloudy, cloudy, cloudy, cloudy, cloudy, cloudy, cloudy]\n  - &b [*a, *a, *a, *a, *a, *a, *a, *a, *a, *a]\n  - &c [*b, *b, *b, *b, *b, *b, *b, *b, *b, *b]\n  - &d [*c, *c, *c, *c, *c, *c, *c, *c, *c, *c]\n  - &e [*d, *d, *d, *d, *d, *d, *d, *d, *d, *d]\n  - &f [*e, *e, *e, *e, *e, *e, *e, *e, *e, *e]",
            r#"notes: "Bath 3: slightly cloudy""#);
    TooManyClaims "too-many-claims" "A run claims more results than can be compared with all that the usual mistakes lead to. Claim those that are to be marked."
        words("claimed: {densities: {…}}, with a thousand densities", "claimed: {densities: {…}}, with two hundred results at most");
    TooManyColumns "too-many-columns" "A line of the table has far too many values. Look for signs that divide too much."
        words("water,,,,,, and so on", "water,31.204 g,41.176 g,10.00 mL");
    TooManyDilutions "too-many-dilutions" "Too many dilutions are made each from the one before. Start again from a solution that was weighed."
        words("A diluted to B, B to C, and so on a hundred times", "fewer steps from the solution that was weighed");
    TooManyPhotos "too-many-photos" "The run file names more photographs than a report can hold. Name fewer."
        words("more than a hundred entries under photos", "the photographs that matter");
    TooManyRuns "too-many-runs" "A table of runs has more lines than one command takes. Divide it."
        words("a table of 20,000 lines", "two tables of 10,000 lines");
    TooManySolutions "too-many-solutions" "A plan lists more solutions than one bench makes. Divide it."
        words("a plan of 61 solutions", "two plans, of 31 and 30 solutions");
    TooManyWeighings "too-many-weighings" "The run has more weighings than can be processed. Divide it into several runs."
        words("more than ten thousand weighings", "the weighings of one run; several runs in several files");
    TwiceOnTheCurve "twice-on-the-curve" "The curve turns, so that two compositions have the density of the unknown. A wrong point often does that; or ask for a straight line."
        run("    B: [{empty: 31.203 g, filled: 42.449 g, volume: 10.00 mL}]\n    bath 3: [{empty: 31.203 g, filled: 42.601 g, volume: 10.00 mL}]\n…\ncalibration: {against: mass percent, line: curve}",
            "    B: [{empty: 31.203 g, filled: 41.449 g, volume: 10.00 mL}]\n    bath 3: [{empty: 31.203 g, filled: 41.801 g, volume: 10.00 mL}]\n…\ncalibration: {against: mass percent, line: straight}");
    TwoDensities "two-densities" "The density of one solution is found in two ways. Keep one, or give the other another name."
        run("    F: [{density: 1.0870 g/mL, with: spindle}]\n    G: [{density: 1.1090 g/mL, with: spindle}]", "    G: [{density: 1.1090 g/mL, with: spindle}]");
    TwoOrigins "two-origins" "A solution is said to be made in two ways at once. Keep the one that is true."
        run("  water: {pure: true, unknown: true}", "  water: {pure: true}");
    TwoStrengths "two-strengths" "The strength of a solution is planned twice. Keep one."
        plan("    C: {mass percent: 5 %, molarity: 0.88 mol/L, volume: 100 mL}", "    C: {mass percent: 5 %, volume: 100 mL}");
    TwoWeighings "two-weighings" "A mass is given twice: by difference, and by itself. Keep the one that was read."
        run("    weighed: {before: 82.417 g, after: 19.909 g, mass: 62.508 g}", "    weighed: {before: 82.417 g, after: 19.909 g}");
    UnknownApparatus "unknown-apparatus" "Something is named that does not stand under `apparatus`. Look at the spelling, or add it there."
        run("    made_up: {to: 250 mL, in: stok flask}", "    made_up: {to: 250 mL, in: stock flask}");
    UnknownChoice "unknown-choice" "A word is not one of those that this key knows."
        run("  stock flask: {kind: flagon, capacity: 250 mL, class: A}", "  stock flask: {kind: flask, capacity: 250 mL, class: A}");
    UnknownColumn "unknown-column" "The table has a column that is not known. Rename it; or name it under `unread` if it is of no concern."
        run("solution,empty,filled,volume,liquid,leftout", "solution,empty,filled,volume,liquid,left_out");
    UnknownEntry "unknown-entry" "A correction names an entry that is not there. Write it as the program does: section, solution, number, key."
        run("  - {entry: weighings.C.2.filed, was: 39.259 g, now: 39.295 g, why: digits transposed, on: 2026-03-05}", "  - {entry: weighings.C.2.filled, was: 39.259 g, now: 39.295 g, why: digits transposed, on: 2026-03-05}");
    UnknownKey "unknown-key" "A key is not one of those that belong here. Look at the spelling and at the indent."
        run("      - {empty: 28.319 g, filed: 39.909 g, volume: 10.00 mL}", "      - {empty: 28.319 g, filled: 39.909 g, volume: 10.00 mL}");
    UnknownLabel "unknown-label" "A reference names a label that nothing has."
        template("See [](#loads).\n", "# Loads { #loads }\n\nSee [](#loads).\n");
    UnknownNotWeighed "unknown-not-weighed" "An unknown has no density, so that nothing can be read back for it. Weigh it, or take it out."
        run("  bath 3: {unknown: true}\n  bath 4: {unknown: true}", "  bath 3: {unknown: true}");
    UnknownPhoto "unknown-photo" "A template shows a photograph that the run file does not name."
        template("![](photo:2)\n", "![](photo:1)\n");
    UnknownPlot "unknown-plot" "A template shows a plot that the report does not have."
        template("![](plot:calibrations)\n", "![](plot:calibration)\n");
    UnknownSolute "unknown-solute" "The salt is not known by its name alone. Give its formula or molar mass too."
        run("solute: bath salt", "solute: {name: sodium chloride, purity: 99.6 ± 0.1 %}");
    UnknownSolution "unknown-solution" "A solution is named that does not stand under `solutions`. Look at the spelling, or add it there."
        run("    aliquot: {of: Q, volume: 4 × 20.00 mL, with: twenty pipette}", "    aliquot: {of: A, volume: 4 × 20.00 mL, with: twenty pipette}");
    UnknownTemplate "unknown-template" "`--template` names neither a built-in set of templates nor a folder."
        words("fillmark report bath.yaml --template breif", "fillmark report bath.yaml --template brief");
    UnknownUnit "unknown-unit" "A unit is not known here."
        run("      - {empty: 28.319 g, filled: 39.909 gr, volume: 10.00 mL}", "      - {empty: 28.319 g, filled: 39.909 g, volume: 10.00 mL}");
    ValueWithoutColumn "value-without-column" "A line of the table has more values than the heading has columns. A decimal comma makes two values of one."
        run("water,31.204 g,41,176 g,10.00 mL,,", "water,31.204 g,41.176 g,10.00 mL,,");
    WareOutsideTolerance "ware-outside-tolerance" "Ware calibrated at the bench departs from its volume by more than its class allows. It may be worn, misread, or of another class."
        run("      - {empty: 28.312 g, filled: 48.353 g}\n      - {empty: 28.310 g, filled: 48.355 g}\n      - {empty: 28.311 g, filled: 48.352 g}",
            "      - {empty: 28.312 g, filled: 48.253 g}\n      - {empty: 28.310 g, filled: 48.255 g}\n      - {empty: 28.311 g, filled: 48.252 g}");
    WaterNotFilled "water-not-filled" "The pycnometer's reading with water is missing, or given in two ways. Write `filled`, or a list of `readings`."
        run("    water: {liquid: 19.4 °C}", "    water: {filled: 74.850 g, liquid: 19.4 °C}");
    WaterOffPublished "water-off-published" "The density of pure water itself is off, so that something at the bench is: ware, balance or temperature. Find it before you trust the others."
        run("      - {empty: 28.312 g, filled: 38.395 g, volume: 10.00 mL}\n      - {empty: 28.319 g, filled: 38.401 g, volume: 10.00 mL}\n      - {empty: 28.316 g, filled: 38.388 g, volume: 10.00 mL}",
            "      - {empty: 28.312 g, filled: 38.295 g, volume: 10.00 mL}\n      - {empty: 28.319 g, filled: 38.301 g, volume: 10.00 mL}\n      - {empty: 28.316 g, filled: 38.288 g, volume: 10.00 mL}");
    WeighingIncomplete "weighing-incomplete" "A weighing by difference has only one of its two readings, or none."
        run("    weighed: {before: 82.417 g}", "    weighed: {before: 82.417 g, after: 19.909 g}");
    WordTakenForAnAnchor "word-taken-for-an-anchor" "A text begins with &, which means something else in YAML, and lost its first word. Put the text in quotes."
        run("notes: &slightly cloudy", r#"notes: "Bath 3: slightly cloudy""#);
    WrongApparatus "wrong-apparatus" "Something is named that cannot do this: a balance holds no volume. Name the right apparatus."
        run("    made_up: {to: 250 mL, in: balance}", "    made_up: {to: 250 mL, in: stock flask}");
    WrongDimension "wrong-dimension" "A value has a unit of another kind: a volume where a mass belongs."
        run("      - {empty: 28.319 g, filled: 39.909 mL, volume: 10.00 mL}", "      - {empty: 28.319 g, filled: 39.909 g, volume: 10.00 mL}");
    WrongShape "wrong-shape" "A single value, a list or a section stands where another of these belongs."
        run("conditions: 19.4 °C", "conditions:\n  air: 20.5 °C\n  liquid: 19.4 °C\n  thermometer: bath thermometer\n  pressure: 1009 hPa\n  humidity: 52 %");
}

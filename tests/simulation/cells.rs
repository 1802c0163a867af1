//! The benches that coverage is judged on.

use super::apparatus::{Balance, Limits, Ware};
use super::scene::{Instrument, Making, Scene, Truth, Way};

/// A bench and how it is named in the table.
pub(crate) struct Cell {
    /// What the cells of a group have in common.
    pub(crate) group: &'static str,
    pub(crate) name: String,
    pub(crate) scene: Scene,
}

/// Dilutions beside water and the stock: deliveries of the aliquot pipette to 100 mL.
const FIVE_POINTS: &[usize] = &[6, 4, 2];
const NINE_POINTS: &[usize] = &[8, 7, 6, 4, 3, 2, 1];

const fn ware(name: &'static str, kind: &'static str, capacity: f64, limit: f64) -> Ware {
    Ware {
        name,
        kind,
        capacity,
        decimals: 2,
        limit,
        limits: Limits::Class('A'),
        scatter: 0.0,
        states: false,
    }
}

/// A pipette whose scatter from delivery to delivery is stated.
const fn pipette(name: &'static str, capacity: f64, limit: f64, scatter: f64) -> Ware {
    Ware {
        scatter,
        states: true,
        ..ware(name, "pipette", capacity, limit)
    }
}

const ANALYTIC: Balance = Balance {
    readability: 0.001,
    repeatability: 0.001,
    linearity: 0.0,
    states: true,
};
const CLASSROOM: Balance = Balance {
    readability: 0.01,
    repeatability: 0.01,
    linearity: 0.0,
    states: true,
};
const TEN: Ware = pipette("ten", 10.0, 0.02, 0.006);
const GRADUATED: Ware = Ware {
    kind: "graduated pipette",
    limits: Limits::Class('B'),
    decimals: 1,
    ..pipette("graduated ten", 10.0, 0.1, 0.03)
};
const CYLINDER: Ware = Ware {
    limits: Limits::Class('B'),
    ..ware("cylinder", "cylinder", 100.0, 1.0)
};
const SPINDLE: Instrument = Instrument {
    name: "spindle",
    kind: "hydrometer",
    readability: 0.0005,
    accuracy: 0.001,
    scatter: 0.0003,
};
const METER: Instrument = Instrument {
    name: "meter",
    kind: "density meter",
    readability: 0.0001,
    accuracy: 0.0002,
    scatter: 0.000_05,
};

/// A balance of 0.001 g and class A ware; a stock of about 4 %, so weak that a straight line is right.
pub(crate) fn analytic(weighings: usize) -> Scene {
    Scene {
        balance: ANALYTIC,
        stock: (3.5, 4.5),
        flask: ware("flask", "flask", 250.0, 0.15),
        made: Making::ByDifference,
        dilutions: FIVE_POINTS,
        aliquot: TEN,
        mark: ware("small", "flask", 100.0, 0.1),
        pipettes: vec![TEN],
        way: Way::Weighings(weighings),
        liquid: (19.0, 22.0),
        thermometer: 0.1,
        records_air: false,
        allow_for: None,
        repeatability: None,
        calibration: "",
        deliveries: 1,
        one_empty: false,
        truth: Truth::Measured,
        unknown: None,
    }
}

/// A balance of 0.01 g, a class B cylinder and a class B graduated pipette, read to whole degrees.
pub(crate) fn classroom(weighings: usize) -> Scene {
    Scene {
        balance: CLASSROOM,
        stock: (6.0, 9.0),
        flask: CYLINDER,
        made: Making::Tared,
        aliquot: GRADUATED,
        mark: CYLINDER,
        pipettes: vec![GRADUATED],
        thermometer: 0.0,
        ..analytic(weighings)
    }
}

fn spreads(weighings: usize) -> &'static [Option<&'static str>] {
    // One weighing each has no spread to pool.
    if weighings == 1 {
        &[None, Some("own")]
    } else {
        &[None, Some("own"), Some("pooled")]
    }
}

/// All cells.
pub(crate) fn all() -> Vec<Cell> {
    let mut cells = Vec::new();
    unknowns(&mut cells);
    ways(&mut cells);
    air(&mut cells);
    lines(&mut cells);
    balances_and_ware(&mut cells);
    published(&mut cells);
    let first = |group| cells.iter().position(|cell: &Cell| cell.group == group);
    let order: Vec<_> = cells.iter().map(|cell| first(cell.group)).collect();
    let mut cells: Vec<_> = order.into_iter().zip(cells).collect();
    cells.sort_by_key(|(place, _)| *place);
    cells.into_iter().map(|(_, cell)| cell).collect()
}

fn add(cells: &mut Vec<Cell>, group: &'static str, name: impl Into<String>, scene: Scene) {
    cells.push(Cell {
        group,
        name: name.into(),
        scene,
    });
}

fn unknowns(cells: &mut Vec<Cell>) {
    let fits = ["generalised", "weighted", "ordinary"];
    let mut put = |group, bench: Scene, weighings: usize, points: usize, fit: &str, spread| {
        let scene = Scene {
            dilutions: if points == 5 {
                FIVE_POINTS
            } else {
                NINE_POINTS
            },
            repeatability: spread,
            calibration: match fit {
                "generalised" => "fit: generalised",
                "weighted" => "fit: weighted",
                _ => "fit: ordinary",
            },
            ..bench
        };
        let spread = spread.unwrap_or("default");
        let name = format!("{fit}, {spread} spread, {points} points, {weighings} weighings each");
        add(
            cells,
            group,
            name.replace(", 1 weighings", ", 1 weighing"),
            scene,
        );
    };
    for weighings in [1, 2, 3, 5] {
        for spread in spreads(weighings) {
            put(
                "analytic",
                analytic(weighings),
                weighings,
                5,
                fits[0],
                *spread,
            );
            if weighings < 5 || spread.is_none() {
                put(
                    "analytic",
                    analytic(weighings),
                    weighings,
                    9,
                    fits[0],
                    *spread,
                );
            }
        }
        for fit in &fits[1..] {
            put("analytic", analytic(weighings), weighings, 5, fit, None);
        }
        put(
            "classroom",
            classroom(weighings),
            weighings,
            5,
            fits[0],
            None,
        );
    }
    for spread in ["own", "pooled"] {
        put("analytic", analytic(3), 3, 5, fits[1], Some(spread));
        put("analytic", analytic(2), 2, 5, fits[2], Some(spread));
        put("classroom", classroom(3), 3, 5, fits[0], Some(spread));
    }
    for fit in &fits[1..] {
        put("analytic", analytic(3), 3, 9, fit, None);
        put("classroom", classroom(3), 3, 5, fit, None);
    }
    put("classroom", classroom(2), 2, 9, fits[0], None);
}

fn ways(cells: &mut Vec<Cell>) {
    let group = "ways to a density";
    let by = |way, bench: Scene| Scene { way, ..bench };
    let five = |scatter, states| Ware {
        scatter,
        states,
        ..pipette("five", 5.0, 0.015, 0.0)
    };
    let from = |ware, bench: Scene| Scene {
        pipettes: vec![ware],
        ..bench
    };
    for count in [5, 8] {
        for states in [true, false] {
            let scene = from(five(0.006, states), by(Way::Cumulative(count), analytic(1)));
            let said = if states { "stated" } else { "not stated" };
            let name = format!("cumulative, {count} deliveries of 5 mL, scatter {said}");
            add(cells, group, name, scene);
        }
    }
    let tight = from(five(0.001, false), by(Way::Cumulative(5), analytic(1)));
    add(
        cells,
        group,
        "cumulative, 5 deliveries, the balance's errors lead",
        tight,
    );
    let rough = Ware {
        name: "rough ten",
        states: false,
        ..GRADUATED
    };
    for (name, ware) in [("stated", GRADUATED), ("not stated", rough)] {
        let scene = from(ware, by(Way::Cumulative(6), classroom(1)));
        add(
            cells,
            group,
            format!("classroom, cumulative, 6 deliveries of 10 mL, scatter {name}"),
            scene,
        );
    }
    for count in [1, 3, 5] {
        let plural = if count == 1 { "filling" } else { "fillings" };
        let scene = by(Way::Pycnometer(count, 1, false), analytic(1));
        add(cells, group, format!("pycnometer, {count} {plural}"), scene);
    }
    add(
        cells,
        group,
        "classroom, pycnometer, 3 fillings",
        by(Way::Pycnometer(3, 1, false), classroom(1)),
    );
    for (count, water, states, said) in [
        (3, 3, false, "3 fillings, 3 with water"),
        (1, 1, true, "1 filling, scatter stated"),
        (3, 1, true, "3 fillings, scatter stated"),
    ] {
        let scene = by(Way::Pycnometer(count, water, states), analytic(1));
        add(cells, group, format!("pycnometer, {said}"), scene);
    }
    for count in [1, 3] {
        let scene = Scene {
            deliveries: 2,
            ..from(five(0.006, true), by(Way::Weighings(count), analytic(1)))
        };
        add(
            cells,
            group,
            format!("2 × 5 mL weighed together, weighings: {count}"),
            scene,
        );
    }
    for (what, instrument, bench) in [
        ("hydrometer", SPINDLE, classroom as fn(usize) -> Scene),
        ("density meter", METER, analytic),
    ] {
        for count in [1, 3] {
            let plural = if count == 1 { "reading" } else { "readings" };
            let scene = by(Way::Readings(count, instrument), bench(1));
            add(cells, group, format!("{what}, {count} {plural}"), scene);
        }
    }
}

fn air(cells: &mut Vec<Cell>) {
    const CORRECTED: &str = "air_buoyancy: true, ware_temperature: true";
    let known = Ware {
        name: "known ten",
        limits: Limits::Tolerance,
        limit: 0.005,
        ..TEN
    };
    let calibrated = Ware {
        name: "weighed ten",
        limits: Limits::Calibrated('A'),
        ..TEN
    };
    for (what, ware) in [
        ("class A pipette", TEN),
        ("pipette known to 0.005 mL", known),
        ("calibrated pipette", calibrated),
    ] {
        let scene = Scene {
            pipettes: vec![ware],
            ..analytic(3)
        };
        let asked = Scene {
            records_air: true,
            allow_for: Some(CORRECTED),
            ..scene.clone()
        };
        let recorded = Scene {
            records_air: true,
            ..scene.clone()
        };
        add(cells, "air", format!("{what}, nothing asked for"), scene);
        if what != "class A pipette" {
            add(
                cells,
                "air",
                format!("{what}, air recorded, nothing asked for"),
                recorded,
            );
        }
        add(
            cells,
            "air",
            format!("{what}, buoyancy and expansion corrected"),
            asked,
        );
    }
    let warm = Scene {
        pipettes: vec![known],
        liquid: (26.0, 29.0),
        ..analytic(3)
    };
    let pycnometer = Scene {
        records_air: true,
        allow_for: Some(CORRECTED),
        way: Way::Pycnometer(3, 1, false),
        ..analytic(1)
    };
    add(
        cells,
        "air",
        "pipette known to 0.005 mL, room of 26 °C to 29 °C, nothing asked for",
        warm,
    );
    add(
        cells,
        "air",
        "pycnometer, 3 fillings, corrected",
        pycnometer,
    );
}

fn lines(cells: &mut Vec<Cell>) {
    let group = "strong stocks";
    let of = |stock, bench: Scene| Scene { stock, ..bench };
    for weighings in [1, 3, 5] {
        let name = format!("21 %, line left to the program, weighings: {weighings}");
        add(cells, group, name, of((20.5, 21.5), analytic(weighings)));
    }
    let curve = Scene {
        calibration: "line: curve",
        ..of((20.5, 21.5), analytic(3))
    };
    add(cells, group, "21 %, curve, weighings: 3", curve);
    let concentration = Scene {
        calibration: "against: mass concentration",
        ..of((20.5, 21.5), analytic(3))
    };
    add(
        cells,
        group,
        "21 %, against mass concentration, weighings: 3",
        concentration,
    );
    let nine = Scene {
        dilutions: NINE_POINTS,
        ..of((20.5, 21.5), analytic(3))
    };
    add(cells, group, "21 %, 9 points, weighings: 3", nine);
    add(
        cells,
        group,
        "10 %, line left to the program, weighings: 3",
        of((9.5, 10.5), analytic(3)),
    );
    add(
        cells,
        group,
        "classroom, 21 %, line left to the program, weighings: 3",
        of((20.5, 21.5), classroom(3)),
    );
}

fn balances_and_ware(cells: &mut Vec<Cell>) {
    let group = "balance and ware";
    let exact = Ware {
        name: "exact ten",
        limits: Limits::Tolerance,
        limit: 0.002,
        scatter: 0.000_5,
        ..TEN
    };
    for weighings in [1, 2, 3, 5] {
        let scene = Scene {
            balance: Balance {
                linearity: 0.01,
                ..ANALYTIC
            },
            pipettes: vec![exact],
            records_air: true,
            allow_for: Some("air_buoyancy: true, ware_temperature: true"),
            ..analytic(weighings)
        };
        add(
            cells,
            group,
            format!("linearity leads, weighings: {weighings}"),
            scene,
        );
    }
    for weighings in [3, 5] {
        let scene = Scene {
            balance: CLASSROOM,
            pipettes: vec![exact],
            records_air: true,
            allow_for: Some("air_buoyancy: true, ware_temperature: true"),
            one_empty: true,
            ..analytic(weighings)
        };
        let name = format!("one empty reading typed at all, 0.01 g, weighings: {weighings}");
        add(cells, group, name, scene);
    }
    let two = pipette("two", 2.0, 0.01, 0.01);
    let large = pipette("large", 25.0, 0.03, 0.01);
    for spread in [None, Some("own"), Some("pooled")] {
        let scene = Scene {
            pipettes: vec![two, large],
            repeatability: spread,
            ..analytic(3)
        };
        let spread = spread.unwrap_or("default");
        add(
            cells,
            group,
            format!("pipettes of 2 mL and 25 mL, {spread} spread, weighings: 3"),
            scene,
        );
    }
    let scatter = Ware {
        limits: Limits::Tolerance,
        limit: 0.002,
        ..pipette("rough ten", 10.0, 0.002, 0.02)
    };
    for weighings in [2, 3, 5] {
        for spread in [None, Some("own")] {
            let scene = Scene {
                pipettes: vec![scatter],
                repeatability: spread,
                ..analytic(weighings)
            };
            let spread = spread.unwrap_or("default");
            add(
                cells,
                group,
                format!("scatter leads, {spread} spread, weighings: {weighings}"),
                scene,
            );
        }
    }
    for (what, bench) in [
        ("analytic", analytic as fn(usize) -> Scene),
        ("classroom", classroom),
    ] {
        for weighings in [1, 3] {
            let mut scene = bench(weighings);
            scene.balance.states = false;
            scene.pipettes[0].states = false;
            scene.aliquot.states = false;
            let name = format!("{what}, no repeatability stated, weighings: {weighings}");
            add(cells, group, name, scene);
        }
    }
    let by_mass = Scene {
        made: Making::ByMass,
        ..analytic(3)
    };
    add(
        cells,
        group,
        "solutions made by mass, weighings: 3",
        by_mass,
    );
}

/// Unknowns read from published densities, with nothing made.
fn published(cells: &mut Vec<Cell>) {
    let bare = |way, bench: Scene| Scene {
        made: Making::Nothing,
        stock: (2.0, 24.0),
        liquid: (15.5, 25.5),
        calibration: "line: published",
        // Without weighings there is no pipette.
        pipettes: match way {
            Way::Weighings(_) => bench.pipettes.clone(),
            _ => Vec::new(),
        },
        way,
        ..bench
    };
    let corrected = |bench: Scene| Scene {
        records_air: true,
        allow_for: Some("air_buoyancy: true, ware_temperature: true"),
        ..bench
    };
    for (group, truth) in [
        // The standard uncertainties that the program gives the relation.
        (
            "published densities, as uncertain as said",
            Truth::Published(0.3e-3, 0.5e-3),
        ),
        ("published densities, brines as measured", Truth::Measured),
    ] {
        let benches = [
            (
                "hydrometer, 1 reading, whole degrees",
                bare(Way::Readings(1, SPINDLE), classroom(1)),
            ),
            (
                "hydrometer, 1 reading",
                bare(Way::Readings(1, SPINDLE), analytic(1)),
            ),
            (
                "hydrometer, 3 readings",
                bare(Way::Readings(3, SPINDLE), analytic(1)),
            ),
            (
                "density meter, 1 reading",
                bare(Way::Readings(1, METER), analytic(1)),
            ),
            (
                "density meter, 3 readings",
                bare(Way::Readings(3, METER), analytic(1)),
            ),
            (
                "weighings: 3, corrected",
                corrected(bare(Way::Weighings(3), analytic(3))),
            ),
            (
                "weighings: 3, nothing asked for",
                bare(Way::Weighings(3), analytic(3)),
            ),
        ];
        for (name, scene) in benches {
            add(cells, group, name, Scene { truth, ..scene });
        }
    }
}

/// A bench whose honest runs, or whose slips, are looked at.
pub(crate) struct Flagged {
    pub(crate) name: String,
    pub(crate) scene: Scene,
    /// Whether it is a classroom's.
    pub(crate) coarse: bool,
}

/// Honest benches of 3, 5 and 8 known solutions.
pub(crate) fn honest() -> Vec<Flagged> {
    let mut all = Vec::new();
    for (bench, coarse) in [(analytic as fn(usize) -> Scene, false), (classroom, true)] {
        for dilutions in [&[3_usize][..], FIVE_POINTS, &[8, 7, 6, 4, 2, 1]] {
            for weighings in [1, 2, 3, 5] {
                let scene = Scene {
                    dilutions,
                    stock: (5.0, 9.0),
                    ..bench(weighings)
                };
                let what = if coarse { "classroom" } else { "analytic" };
                let name = format!(
                    "{what}, {} solutions, weighings: {weighings}",
                    dilutions.len() + 2
                );
                all.push(Flagged {
                    name,
                    scene,
                    coarse,
                });
            }
        }
    }
    all
}

/// Benches at which slips are made: the first three weigh known volumes, the last two deliver without taring.
pub(crate) fn of_slips(series: bool) -> Vec<Flagged> {
    let tared = |scene: Scene| Scene {
        made: Making::Tared,
        stock: (6.0, 10.0),
        ..scene
    };
    let five = pipette("five", 5.0, 0.015, 0.006);
    let cumulative = |way, pipettes, scene: Scene| Scene {
        pipettes,
        way,
        ..tared(scene)
    };
    let of = |name: &str, coarse, scene| Flagged {
        name: name.to_owned(),
        scene,
        coarse,
    };
    if series {
        let fine = cumulative(Way::Cumulative(6), vec![five], analytic(1));
        let coarse = cumulative(Way::Cumulative(6), vec![GRADUATED], classroom(1));
        return vec![
            of("analytic, 6 deliveries", false, fine),
            of("classroom, 6 deliveries", true, coarse),
        ];
    }
    vec![
        of("analytic, 1 weighing", false, tared(analytic(1))),
        of("analytic, 3 weighings", false, tared(analytic(3))),
        of("classroom, 3 weighings", true, tared(classroom(3))),
    ]
}

//! Run files of any size, each with readings of its own, the same each time.

use std::fmt::Write as _;

/// Digits that only look random, the same each time.
pub(crate) struct Digits(u64);

impl Digits {
    /// Those of a number.
    pub(crate) fn of(seed: u64) -> Self {
        Self(seed)
    }

    /// A number from 0 up to `below`.
    fn next(&mut self, below: u64) -> u64 {
        // Knuth, The Art of Computer Programming 2, 3.3.4, line 26 of table 1.
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        (self.0 >> 33) % below
    }

    /// A mass near `grams`, scattered by up to 3 mg.
    pub(crate) fn mass(&mut self, grams: f64) -> f64 {
        grams + (self.next(7) as f64 - 3.0) / 1000.0
    }
}

/// A run of a stock, so many dilutions of it and an unknown, each weighed three times.
pub(crate) fn run(dilutions: usize, seed: u64) -> String {
    let mut digits = Digits::of(seed);
    let salt = 50.0 + digits.next(100) as f64 / 10.0;
    let mut text = format!(
        "title: Run {seed}\ndate: 2026-03-04\nanalysts: [R. Example]\nconditions: {{liquid: 20.4 °C}}\n\
         solute: sodium chloride\n\
         apparatus:\n  balance: {{kind: balance, readability: 0.001 g, repeatability: 0.001 g}}\n  \
         flask: {{kind: flask, capacity: 250 mL, class: A}}\n  pipette: {{kind: pipette, capacity: 10 mL, class: A}}\n\
         practice: {{rinsed: 3, mixed: inverted ten times}}\n\
         solutions:\n  stock:\n    weighed: {{before: {:.3} g, after: 11.262 g}}\n    made_up: {{to: 250 mL, in: flask}}\n",
        11.262 + salt
    );
    let deliveries = |index: usize| 1 + index % 20;
    for index in 0..dilutions {
        let _ = writeln!(
            text,
            "  D{index}:\n    aliquot: {{of: stock, volume: {} × 10.00 mL, with: pipette}}\n    made_up: {{to: 250 mL, in: flask}}",
            deliveries(index)
        );
    }
    text += "  bath: {unknown: true}\ndensity:\n  pipette: pipette\n  weighings:\n";
    let mut weigh = |name: &str, gamma: f64| {
        let _ = writeln!(text, "    {name}:");
        // Near enough to the published density of a brine of that strength.
        let density = 0.9981 + gamma * (0.692e-3 - gamma * 1.0e-7);
        for _ in 0..3 {
            let empty = digits.mass(31.2);
            let filled = digits.mass(empty + 10.0 * density);
            let _ = writeln!(
                text,
                "      - {{empty: {empty:.3} g, filled: {filled:.3} g, volume: 10.00 mL}}"
            );
        }
    };
    let stock = 4.0 * salt;
    weigh("stock", stock);
    for index in 0..dilutions {
        weigh(
            &format!("D{index}"),
            stock * deliveries(index) as f64 / 25.0,
        );
    }
    weigh("bath", stock * 0.45);
    text
}

//! The templates that come with the program: those of the full report, and sets that stand in place of some of them.

/// A set of templates known by name.
#[derive(Debug)]
pub struct Shipped {
    /// What it is called.
    pub name: &'static str,
    /// What it makes, in a line.
    pub about: &'static str,
    /// Templates in place of those of the same name, or beside them, with the path they have in the sources.
    pub(super) texts: &'static [(&'static str, &'static str, &'static str)],
}

macro_rules! texts {
    ($folder:literal: $($name:literal),* $(,)?) => {
        &[$((
            $name,
            concat!("templates/", $folder, $name),
            include_str!(concat!("../../templates/", $folder, $name)),
        )),*]
    };
}

/// The bench sheet: in place of the report's order of sections, with sections of its own.
pub(super) const SHEET: Shipped = Shipped {
    name: "sheet",
    about: "steps, and cells to write readings in",
    texts: texts!["sheet/": "report.md", "cell.md", "entries.md", "apparatus.md", "work.md", "densities.md"],
};

/// The comparison of several benches: in place of the report's order of sections.
pub(super) const COMPARISON: Shipped = Shipped {
    name: "comparison",
    about: "the runs of several benches side by side",
    texts: texts!["compare/": "report.md"],
};

/// Those known by name; the first is the full report, on which the others stand.
pub const SHIPPED: [Shipped; 3] = [
    Shipped {
        name: "report",
        about: "the full write-up",
        texts: texts!["":
            "report.md",
            "at_a_glance.md",
            "solutions_at_a_glance.md",
            "verdicts.md",
            "aim.md",
            "cautions.md",
            "caution.md",
            "apparatus.md",
            "ware.md",
            "solutions.md",
            "densities.md",
            "weighings.md",
            "readings.md",
            "calibration.md",
            "earlier_calibration.md",
            "unknowns.md",
            "limits.md",
            "adjustments.md",
            "known.md",
            "claims.md",
            "strength.md",
            "comparison.md",
            "budgets.md",
            "monte_carlo.md",
            "observations.md",
            "photographs.md",
            "corrections.md",
            "appendix_calculations.md",
            "calculations.md",
            "appendix_entries.md",
            "entries.md",
        ],
    },
    Shipped {
        name: "summary",
        about: "results, plot, flags and cautions in short",
        texts: texts!["summary/":
            "report.md",
            "at_a_glance.md",
            "results.md",
            "flags.md",
        ],
    },
    Shipped {
        name: "worksheet",
        about: "calculations, their inputs, and entries only, for checking",
        texts: texts!["worksheet/": "report.md"],
    },
];

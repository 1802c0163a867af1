//! How the words of the run file are described: a key, a section, and what may stand at a key.
//!
//! The words themselves hang together from [`super::RUN`].

use super::model::ApparatusKind;
use crate::bench::quantity::Unit;

/// A key of a section. `F` says what may stand there, and by its type with which reader it is read.
#[derive(Debug)]
pub struct Key<F> {
    /// As written.
    pub name: &'static str,
    /// What it means, for people.
    pub about: &'static str,
    /// Whether the section must have it.
    pub required: bool,
    /// What may stand there.
    pub form: F,
}

/// A section with a fixed set of keys.
pub struct Section {
    /// What it is, to follow "a key of ".
    pub what: &'static str,
    /// Its keys, in the order they are best written.
    pub keys: &'static [&'static dyn KeyInfo],
    /// Sets of optional keys of which a whole one must be there; none where nothing but the required keys must.
    pub ways: &'static [&'static [&'static dyn KeyInfo]],
    /// Whether keys of one set only may be there.
    pub one_way: bool,
    /// What a single value in its place stands for; `None` if it has to be a section.
    pub short: Option<Short>,
    /// Words that are often written there although they are not keys.
    pub strangers: &'static [Stranger],
}

/// A word that is often written in a section although it is not a key.
#[derive(Debug)]
pub struct Stranger {
    /// The word.
    pub word: &'static str,
    /// What would be right instead.
    pub right: &'static str,
    /// Keys that it replaces, so that they are not reported as missing.
    pub stands_for: &'static [&'static str],
}

/// What a single value in the place of a section stands for.
#[derive(Debug, Clone, Copy)]
pub enum Short {
    /// The value of this key.
    Of(&'static str),
    /// A mass or a volume, as its unit says: `95 g`, `95 mL`.
    Amount {
        /// The key of the mass.
        mass: &'static str,
        /// The key of the volume.
        volume: &'static str,
    },
    /// A volume, and what it is taken of: `10 mL of stock`.
    TakenOf {
        /// The key of the volume.
        volume: &'static str,
        /// The key of what it is taken of.
        of: &'static str,
    },
}

impl Section {
    /// Returns a section that needs its required keys and no others.
    pub const fn new(what: &'static str, keys: &'static [&'static dyn KeyInfo]) -> Self {
        Self {
            what,
            keys,
            ways: &[],
            one_way: false,
            short: None,
            strangers: &[],
        }
    }

    /// Returns the key of a name.
    pub fn key(&self, name: &str) -> Option<&'static dyn KeyInfo> {
        self.keys.iter().copied().find(|key| key.name() == name)
    }

    /// Returns the names of the keys.
    pub fn names(&self) -> impl Iterator<Item = &'static str> + use<> {
        self.keys.iter().map(|key| key.name())
    }

    /// Returns every section that it leads to, itself included, each once, in the order of their keys.
    pub fn with_all_below(&'static self) -> Vec<&'static Self> {
        let (mut all, mut open): (Vec<&Self>, _) = (Vec::new(), vec![self]);
        while let Some(section) = open.pop() {
            if all.iter().all(|known| known.what != section.what) {
                all.push(section);
                let forms = section.keys.iter().rev().map(|key| key.form());
                let below = forms.flat_map(|form| form.sections().into_iter().rev());
                open.extend(below.map(|(section, _)| section));
            }
        }
        all
    }

    /// Returns the same section, with words that are not keys, and what would be right instead.
    #[must_use]
    pub const fn not(self, strangers: &'static [Stranger]) -> Self {
        Self { strangers, ..self }
    }

    /// Returns the same section, in whose place a single value may stand.
    #[must_use]
    pub const fn or_short(self, short: Short) -> Self {
        Self {
            short: Some(short),
            ..self
        }
    }

    /// Returns the same section, which must have all the keys of one of these sets.
    #[must_use]
    pub const fn any_of(mut self, ways: &'static [&'static [&'static dyn KeyInfo]]) -> Self {
        self.ways = ways;
        self
    }

    /// Returns the same section, which must have all the keys of one of these sets and none of the others.
    #[must_use]
    pub const fn exactly_one_of(self, ways: &'static [&'static [&'static dyn KeyInfo]]) -> Self {
        Self {
            one_way: true,
            ..self.any_of(ways)
        }
    }
}

/// A key as seen by whoever reads no values, alike for all forms.
pub trait KeyInfo: Sync {
    /// As written.
    fn name(&self) -> &'static str;
    /// Returns what it means, for people.
    fn about(&self) -> &'static str;
    /// Returns whether the section must have it.
    fn is_required(&self) -> bool;
    /// Returns what may stand there.
    fn form(&'static self) -> Form;
    /// Returns its name and what is to be written there, in words for people.
    fn expected(&'static self) -> String {
        format!("{}: {}", self.name(), self.help())
    }
    /// Returns what is to be written there, in words for people.
    fn help(&'static self) -> String {
        let about = self.about();
        match self.form() {
            Form::Measure(measure) | Form::Deliveries(measure) if measure.unit != Unit::ONE => {
                format!("{about} In {} if no unit is written.", measure.unit.symbol)
            }
            Form::Scaled(measures) => {
                let first = measures.first().map_or("", |measure| measure.unit.symbol);
                format!("{about} In {first} if no unit or scale is written.")
            }
            Form::Strength(measures) | Form::Range(measures) => {
                let units: Vec<&str> = measures.iter().map(|m| m.unit.symbol).collect();
                format!("{about} In {}.", units.join(", "))
            }
            Form::Interval(measure) => {
                let unit = measure.unit.symbol;
                format!("{about} As in 3 to 8 {unit}, at least 3 {unit}, or at most 8 {unit}.")
            }
            Form::Texts => format!("{about} Several as a list: [one, another]."),
            Form::Choice(words) => format!("{about} One of {}.", words.join(", ")),
            Form::Choices(words) => format!("{about} One or a list of {}.", words.join(", ")),
            _ => about.to_owned(),
        }
    }
}

/// What may stand at a key.
#[derive(Clone)]
pub enum Form {
    /// Text.
    Text,
    /// Text that says how or why something is so, which some words do not.
    Account(&'static Explanation),
    /// One text or a list of texts.
    Texts,
    /// A day, `YYYY-MM-DD`.
    Day,
    /// The word `true`.
    Mark,
    /// A whole number, up to a most.
    Count(u32),
    /// A quantity.
    Measure(&'static Measure),
    /// A quantity on one of several scales, each with a unit or words of its own; the first where none is written.
    Scaled(&'static [Measure]),
    /// One or more quantities: one, a list of them, or `4 × 5.00 mL`.
    Deliveries(&'static Measure),
    /// A quantity in one of these measures, told by its unit, which is always written.
    Strength(&'static [Measure]),
    /// Two such quantities in one measure, `3 to 8 %`.
    Range(&'static [Measure]),
    /// Limits in one measure, of which one may be left open: `18.0 to 20.0 %`, `at least 18.0 %`.
    Interval(&'static Measure),
    /// One of these words.
    Choice(Vec<&'static str>),
    /// One of these words, or a list of them.
    Choices(Vec<&'static str>),
    /// The name of a piece of apparatus.
    ApparatusName,
    /// The name of a solution.
    SolutionName,
    /// The names of solutions: a list, or one alone.
    SolutionNames,
    /// A section with a fixed set of keys.
    Section(&'static Section),
    /// A section whose keys are names given by the writer, each with such a section.
    Named(&'static Section),
    /// The same, where what each is tells which of these sections it has.
    NamedByKind(&'static [(&'static Section, &'static [ApparatusKind])]),
    /// A section whose keys are names given by the writer, each with a list of such sections, or one alone.
    NamedLists(&'static Section),
    /// The same; or a section of the second set of keys, which has the first of them with a text at it.
    NamedListsOrSection(&'static Section, &'static Section),
    /// A section whose keys are names given by the writer, each with a value as at this key.
    NamedValues(&'static dyn KeyInfo),
    /// A list of such sections.
    List(&'static Section),
    /// One of these words, or such a section.
    WordOrSection(&'static [&'static str], &'static Section),
    /// Text, such as these known words, or such a section.
    TextOrSection(fn() -> Vec<&'static str>, &'static Section),
}

impl Form {
    /// Returns the sections that a value may be, each with the kinds of apparatus it is limited to; an empty list means any kind.
    pub fn sections(&self) -> Vec<(&'static Section, &'static [ApparatusKind])> {
        match self {
            Self::Section(section)
            | Self::Named(section)
            | Self::NamedLists(section)
            | Self::List(section)
            | Self::WordOrSection(_, section)
            | Self::TextOrSection(_, section) => vec![(section, &[])],
            Self::NamedListsOrSection(lists, section) => vec![(lists, &[]), (section, &[])],
            Self::NamedByKind(sections) => sections.to_vec(),
            _ => Vec::new(),
        }
    }

    /// Returns whether a single value is allowed.
    pub fn takes_single(&self) -> bool {
        let word = matches!(self, Self::WordOrSection(..) | Self::TextOrSection(..));
        word || (self.sections().is_empty() && !matches!(self, Self::NamedValues(_)))
    }
}

/// Something that may stand at a key.
pub trait Writable: Sync {
    /// Returns the same for those who do not know the type.
    fn form(&'static self) -> Form;
}

impl<F: Writable> KeyInfo for Key<F> {
    fn name(&self) -> &'static str {
        self.name
    }
    fn about(&self) -> &'static str {
        self.about
    }
    fn is_required(&self) -> bool {
        self.required
    }
    fn form(&'static self) -> Form {
        self.form.form()
    }
}

/// Text.
#[derive(Debug)]
pub struct Text;
/// Text that says how or why something is so; that it is so, its key says already.
#[derive(Debug)]
pub struct Explanation {
    /// What it says, to follow "does not say ".
    pub asks: &'static str,
    /// Words that do not say it, in small letters.
    pub not: &'static [&'static str],
    /// What would be right instead of one of them.
    pub right: &'static str,
    /// Whether a key without a text is as good as none.
    pub may_be_blank: bool,
}
/// One text or a list of texts.
#[derive(Debug)]
pub struct Texts;
/// A day, `YYYY-MM-DD`.
#[derive(Debug)]
pub struct Day;
/// The word `true`.
#[derive(Debug)]
pub struct Mark;
/// A whole number from 0 to this.
#[derive(Debug)]
pub struct Count(pub u32);
/// One of several words, with what each stands for. Words for the same thing stand together, the best one first.
#[derive(Debug)]
pub struct Choice<T: 'static>(pub &'static [(&'static str, T)]);
/// The same, or a list of such words.
#[derive(Debug)]
pub struct Choices<T: 'static>(pub Choice<T>);
/// A quantity on one of several scales, told by its unit, or by the name of the scale before it; on the first of them where
/// neither is written.
#[derive(Debug)]
pub struct Scaled(pub &'static [Measure]);
/// One or more quantities.
#[derive(Debug)]
pub struct Deliveries(pub Measure);
/// A quantity in one of these measures, told by its unit, which is always written.
#[derive(Debug)]
pub struct Strength(pub &'static [Measure]);
/// Two such quantities in one measure, the lower one first: `3 to 8 %`.
#[derive(Debug)]
pub struct Range(pub &'static [Measure]);
/// Limits of a quantity, of which one may be left open.
#[derive(Debug)]
pub struct Interval(pub Measure);
/// The name of a piece of apparatus, of one of these kinds.
#[derive(Debug)]
pub struct ApparatusName(pub &'static [ApparatusKind]);
/// The name of a solution.
#[derive(Debug)]
pub struct SolutionName;

/// The names of solutions: a list, or one alone.
#[derive(Debug)]
pub struct SolutionNames;

/// A quantity.
#[derive(Debug)]
pub struct Measure {
    /// The unit where none is written, which also tells the dimension.
    pub unit: Unit,
    /// Lowest value, in the base unit of the dimension.
    pub low: f64,
    /// Whether the lowest value itself is allowed.
    pub low_allowed: bool,
    /// Highest value, allowed, in the base unit.
    pub high: f64,
    /// The limits in words, to follow "must be ".
    pub limits: &'static str,
}

impl<T> Choice<T> {
    /// Returns the words alone.
    pub(super) fn words(&self) -> impl Iterator<Item = &'static str> {
        self.0.iter().map(|(word, _)| *word)
    }
}

impl Measure {
    /// Returns the words before a number of this measure, of a scale without a unit.
    pub fn prefix(&self) -> Option<&'static str> {
        (self.unit == Unit::SPECIFIC_GRAVITY).then_some("specific gravity")
    }

    /// Returns the unit meant where none is written, in words to follow what is wanted; nothing for a bare ratio.
    pub(super) fn unless_written(&self) -> String {
        match self.unit.symbol {
            "" => String::new(),
            symbol => format!(", in {symbol} if no unit is written"),
        }
    }

    /// Returns whether a value in the base unit keeps to the limits.
    pub fn allows(&self, value: f64) -> bool {
        value <= self.high && (value > self.low || (self.low_allowed && value >= self.low))
    }
}

/// What stands at a key of each type.
macro_rules! writable {
    ($($type:ty: |$this:ident| $form:expr;)*) => {
        $(impl Writable for $type {
            fn form(&'static self) -> Form {
                let $this = self;
                $form
            }
        })*
    };
}

writable! {
    Text: |_this| Form::Text;
    Explanation: |this| Form::Account(this);
    Texts: |_this| Form::Texts;
    Day: |_this| Form::Day;
    Mark: |_this| Form::Mark;
    Count: |this| Form::Count(this.0);
    Measure: |this| Form::Measure(this);
    Scaled: |this| Form::Scaled(this.0);
    Deliveries: |this| Form::Deliveries(&this.0);
    Strength: |this| Form::Strength(this.0);
    Range: |this| Form::Range(this.0);
    Interval: |this| Form::Interval(&this.0);
    ApparatusName: |_this| Form::ApparatusName;
    SolutionName: |_this| Form::SolutionName;
    SolutionNames: |_this| Form::SolutionNames;
    // What has parts of its own is read by a function of its own.
    Form: |this| this.clone();
}

impl<T: Sync> Writable for Choice<T> {
    fn form(&'static self) -> Form {
        Form::Choice(self.words().collect())
    }
}
impl<T: Sync> Writable for Choices<T> {
    fn form(&'static self) -> Form {
        Form::Choices(self.0.words().collect())
    }
}

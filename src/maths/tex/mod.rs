//! A formula as TeX, for those who want it so: wikis, and authors of templates.

mod commands;

use self::commands::{ACCENTS, BELOW, COMMANDS, FUNCTIONS, MOVABLE};
use super::alphabet::Alphabet;
use super::{Align, Class, Math, Placement, Scripts, Style};

impl Math {
    /// Returns the formula in TeX, with `\allowbreak` where a line may be broken.
    pub fn tex(&self) -> String {
        let mut writer = Writer {
            text: String::new(),
            breaks: true,
        };
        writer.inside(self);
        writer.text
    }

    /// Returns the formula in TeX, for what breaks lines by itself or not at all.
    pub fn tex_unbroken(&self) -> String {
        let mut writer = Writer {
            text: String::new(),
            breaks: false,
        };
        writer.inside(self);
        writer.text
    }
}

struct Writer {
    text: String,
    breaks: bool,
}

impl Writer {
    /// A word of TeX; behind a command, letters stand apart.
    fn push(&mut self, word: &str) {
        let command = self
            .text
            .trim_end_matches(|c: char| c.is_ascii_alphabetic());
        let open = command.len() < self.text.len() && command.ends_with('\\');
        if open && word.starts_with(|c: char| c.is_ascii_alphabetic()) {
            self.text.push(' ');
        }
        self.text.push_str(word);
    }

    fn command(&mut self, name: &str) {
        self.text.push('\\');
        self.text.push_str(name);
    }

    /// An argument.
    fn braced(&mut self, part: &Math) {
        self.text.push('{');
        self.inside(part);
        self.text.push('}');
    }

    /// A part where braces are around it already, or nothing is.
    fn inside(&mut self, part: &Math) {
        match part {
            Math::Row(parts) => parts.iter().for_each(|part| self.part(part)),
            part => self.part(part),
        }
    }

    fn part(&mut self, part: &Math) {
        match part {
            Math::Variable(letter) if letter.is_uppercase() && !letter.is_ascii() => {
                self.push(&format!("\\mathit{{{letter}}}"));
            }
            Math::Variable(letter) => self.letter(*letter),
            Math::Upright(text) => self.upright(text),
            Math::Function(name) => self.function(name),
            Math::Number(digits) => self.number(digits),
            Math::Text(text) if text == "\u{a0}" => self.text.push_str("\\ "),
            Math::Text(text) => self.words(text),
            Math::Sign(sign, class) => self.sign(sign, *class),
            Math::Space(width) => self.room(*width),
            Math::Break if self.breaks => self.command("allowbreak"),
            Math::Break => {}
            Math::Row(parts) if is_unit(parts) => self.unit(parts),
            Math::Row(_) => self.braced(part),
            Math::Fraction { above, below, bar } => {
                self.command(if *bar { "frac" } else { "genfrac{}{}{0pt}{}" });
                self.braced(above);
                self.braced(below);
            }
            Math::Scripts(scripts) => self.scripts(scripts),
            Math::Root { of, degree } => {
                self.command("sqrt");
                if let Some(degree) = degree {
                    self.text.push('[');
                    self.inside(degree);
                    self.text.push(']');
                }
                self.braced(of);
            }
            Math::Fence {
                open,
                inside,
                close,
            } => {
                self.fence("left", *open);
                self.inside(inside);
                self.fence("right", *close);
            }
            Math::Accent { on, mark, wide } => {
                let known = ACCENTS
                    .iter()
                    .find(|(known, width, _)| known == mark && width == wide);
                match known {
                    Some((_, _, "bar")) if !matches!(**on, Math::Variable(_)) => {
                        self.command("overline");
                    }
                    Some((_, _, name)) => self.command(name),
                    None => self.push(&format!("\\overset{{{mark}}}")),
                }
                self.braced(on);
            }
            Math::Table { columns, rows } => self.table(columns, rows),
            Math::Styled(style, inside) => {
                self.text.push_str("{\\");
                self.text.push_str(match style {
                    Style::Display => "displaystyle",
                    Style::Text => "textstyle",
                    Style::Script => "scriptstyle",
                    Style::ScriptScript => "scriptscriptstyle",
                });
                self.inside(inside);
                self.text.push('}');
            }
        }
    }

    fn letter(&mut self, letter: char) {
        match COMMANDS.iter().find(|(known, _)| *known == letter) {
            Some((_, name)) => self.command(name),
            None => self.push(letter.encode_utf8(&mut [0; 4])),
        }
    }

    /// Upright letters by their alphabets; a single sign needs none.
    fn upright(&mut self, text: &str) {
        if text.chars().all(|c| c == '′') {
            self.text.push_str(&text.replace('′', "'"));
            return;
        }
        let mut letters = text.chars();
        if let (Some(sign), None) = (letters.next(), letters.next())
            && (!sign.is_alphabetic() || is_upright_letter(sign))
        {
            self.plain(sign);
            return;
        }
        let mut within = None;
        let mut rest = text.chars().peekable();
        while let Some(c) = rest.next() {
            if rest.next_if_eq(&'\u{338}').is_some() {
                self.close(&mut within);
                let (_, plain) = Alphabet::from_styled(c).unwrap_or((Alphabet::Italic, c));
                self.command("not");
                self.letter(plain);
                continue;
            }
            let (font, plain) = match Alphabet::from_styled(c) {
                Some((alphabet, plain)) => (command(alphabet), plain),
                None => ("mathrm", c),
            };
            if within != Some(font) {
                self.close(&mut within);
                self.command(font);
                self.text.push('{');
                within = Some(font);
            }
            self.plain(plain);
        }
        self.close(&mut within);
    }

    fn close(&mut self, within: &mut Option<&'static str>) {
        if within.take().is_some() {
            self.text.push('}');
        }
    }

    /// A sign or letter as it is typed, made harmless.
    fn plain(&mut self, c: char) {
        match c {
            '#' | '%' | '&' | '$' | '_' => {
                self.text.push('\\');
                self.text.push(c);
            }
            c if c.is_alphabetic() && !is_upright_letter(c) => {
                self.push(c.encode_utf8(&mut [0; 4]));
            }
            '|' => self.text.push_str("{\\vert}"),
            c => self.letter(c),
        }
    }

    /// Upright words with strokes between them, in one go.
    fn unit(&mut self, parts: &[Math]) {
        self.command("mathrm");
        self.text.push('{');
        for part in parts {
            match part {
                Math::Upright(text) => text.chars().for_each(|c| self.plain(c)),
                _ => self.text.push('/'),
            }
        }
        self.text.push('}');
    }

    fn function(&mut self, name: &str) {
        match name {
            "lim inf" => self.command("liminf"),
            "lim sup" => self.command("limsup"),
            known if FUNCTIONS.contains(&known) => self.command(known),
            name => {
                self.command("operatorname");
                self.text.push('{');
                self.text.push_str(name);
                self.text.push('}');
            }
        }
    }

    /// Digits in their alphabet; those of two numbers stand apart.
    fn number(&mut self, digits: &str) {
        let alphabet = digits.chars().find_map(Alphabet::from_styled);
        let plain: String = digits
            .chars()
            .map(|digit| Alphabet::from_styled(digit).map_or(digit, |(_, plain)| plain))
            .collect();
        if let Some((alphabet, _)) = alphabet {
            self.command(command(alphabet));
            self.text.push_str(&format!("{{{plain}}}"));
            return;
        }
        if self
            .text
            .ends_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | ','))
        {
            self.text.push(' ');
        }
        self.text.push_str(&plain);
    }

    fn words(&mut self, text: &str) {
        self.command("text");
        self.text.push('{');
        for c in text.chars() {
            match c {
                '#' | '%' | '&' | '$' | '_' | '{' | '}' => {
                    self.text.push('\\');
                    self.text.push(c);
                }
                '\u{a0}' => self.text.push(' '),
                c => self.text.push(c),
            }
        }
        self.text.push('}');
    }

    fn sign(&mut self, sign: &str, class: Class) {
        let sign = if let Some(bare) = sign.strip_suffix('\u{338}') {
            self.command("not");
            bare
        } else {
            sign
        };
        let behind = !self.text.is_empty() && !self.text.ends_with(['{', '(', ' ']);
        let spaced = match class {
            Class::Operator => sign != "/" && behind,
            Class::Relation => true,
            _ => false,
        };
        if spaced && behind {
            self.text.push(' ');
        }
        match class {
            Class::Open(12) => self.command("bigl"),
            Class::Open(18) => self.command("Bigl"),
            Class::Open(24) => self.command("biggl"),
            Class::Open(30) => self.command("Biggl"),
            Class::Close(12) => self.command("bigr"),
            Class::Close(18) => self.command("Bigr"),
            Class::Close(24) => self.command("biggr"),
            Class::Close(30) => self.command("Biggr"),
            Class::Middle => self.command("middle"),
            _ => {}
        }
        for c in sign.chars() {
            match c {
                '−' => self.text.push('-'),
                '{' | '}' => {
                    self.text.push('\\');
                    self.text.push(c);
                }
                '.' | ',' if self.text.ends_with(|c: char| c.is_ascii_digit()) => {
                    self.text.push(' ');
                    self.text.push(c);
                }
                '|' if matches!(class, Class::Open(_)) => self.command("lvert"),
                '|' if matches!(class, Class::Close(_)) => self.command("rvert"),
                '‖' if matches!(class, Class::Open(_)) => self.command("lVert"),
                '‖' if matches!(class, Class::Close(_)) => self.command("rVert"),
                c => self.letter(c),
            }
        }
        if spaced {
            self.text.push(' ');
        }
    }

    fn room(&mut self, width: i32) {
        let name = match width {
            3_000 => ",",
            4_000 => ":",
            5_000 => ";",
            -3_000 => "!",
            9_000 => "enspace",
            18_000 => "quad",
            36_000 => "qquad",
            width => {
                let ems = f64::from(width) / 18_000.0;
                self.push(&format!("\\hspace{{{ems:.5}em}}"));
                return;
            }
        };
        self.command(name);
    }

    fn fence(&mut self, side: &str, delimiter: Option<char>) {
        self.command(side);
        match delimiter {
            None => self.text.push('.'),
            Some(brace @ ('{' | '}')) => {
                self.text.push('\\');
                self.text.push(brace);
            }
            Some('‖') => self.command("Vert"),
            Some(delimiter) => self.letter(delimiter),
        }
    }

    fn scripts(&mut self, scripts: &Scripts) {
        let Scripts {
            base,
            below,
            above,
            placement,
        } = scripts;
        let usual = usual_placement(base);
        if *placement == Placement::Around && usual == Placement::Beside {
            match (below, above) {
                (Some(Math::Sign(mark, Class::Stretched)), None) => {
                    let mut known = BELOW.iter();
                    let name = known.find(|(known, _)| mark.chars().eq([*known]));
                    self.command(name.map_or("underline", |(_, name)| name));
                    self.braced(base);
                    return;
                }
                (Some(below), above) => {
                    if let Some(above) = above {
                        self.command("overset");
                        self.braced(above);
                        self.text.push('{');
                    }
                    self.command("underset");
                    self.braced(below);
                    self.braced(base);
                    self.text.push_str(if above.is_some() { "}" } else { "" });
                }
                (None, above) => {
                    self.command("overset");
                    if let Some(above) = above {
                        self.braced(above);
                    }
                    self.braced(base);
                }
            }
            return;
        }
        match base {
            // Of several alphabets, each would be a base of its own.
            Math::Upright(text) if text.chars().any(|c| Alphabet::from_styled(c).is_some()) => {
                self.braced(base);
            }
            Math::Variable(_)
            | Math::Upright(_)
            | Math::Function(_)
            | Math::Number(_)
            | Math::Sign(..)
            | Math::Fence { .. }
            | Math::Accent { .. } => self.part(base),
            Math::Scripts(inner) if usual == Placement::Around && inner.above.is_none() => {
                self.part(base);
            }
            base => self.braced(base),
        }
        match placement {
            _ if *placement == usual => {}
            Placement::Beside => self.command("nolimits"),
            Placement::Around | Placement::Movable => self.command("limits"),
        }
        for (sign, script) in [('_', below), ('^', above)] {
            let Some(script) = script else { continue };
            while self.text.ends_with(' ') {
                self.text.pop();
            }
            self.text.push(sign);
            match script {
                Math::Variable(letter) if letter.is_ascii() => self.text.push(*letter),
                Math::Number(digits) if digits.len() == 1 => self.text.push_str(digits),
                script => self.braced(script),
            }
        }
    }

    fn table(&mut self, columns: &[Align], rows: &[Vec<Math>]) {
        let columns: String = columns
            .iter()
            .map(|align| match align {
                Align::Left => 'l',
                Align::Centre => 'c',
                Align::Right => 'r',
            })
            .collect();
        self.push(&format!("\\begin{{array}}{{{columns}}}"));
        for (at, row) in rows.iter().enumerate() {
            self.text.push_str(if at > 0 { " \\\\ " } else { "" });
            for (at, cell) in row.iter().enumerate() {
                self.text.push_str(if at > 0 { " & " } else { "" });
                self.inside(cell);
            }
        }
        self.text.push_str("\\end{array}");
    }
}

/// Returns whether TeX sets a letter upright by itself, as it does Greek capitals, and has a command for it.
fn is_upright_letter(letter: char) -> bool {
    let known = COMMANDS.iter().any(|(known, _)| *known == letter);
    known && letter.is_uppercase() && !letter.is_ascii()
}

/// Returns whether a row is what a unit is made of.
fn is_unit(parts: &[Math]) -> bool {
    parts.len() > 1
        && parts.iter().all(|part| match part {
            Math::Upright(text) => !text
                .chars()
                .any(|c| c == '\u{338}' || Alphabet::from_styled(c).is_some()),
            Math::Sign(sign, Class::Operator) => sign == "/",
            _ => false,
        })
}

/// Returns where scripts stand if nothing else is asked for.
fn usual_placement(base: &Math) -> Placement {
    match base {
        Math::Sign(sign, Class::Large) if !sign.contains(|c| ('∫'..='∳').contains(&c)) => {
            Placement::Movable
        }
        Math::Function(name) if MOVABLE.contains(&name.as_str()) || name.starts_with("lim") => {
            Placement::Movable
        }
        Math::Accent {
            mark: '⏠' | '⏞' | '⎴',
            ..
        } => Placement::Around,
        Math::Scripts(inner) => match &inner.below {
            Some(Math::Sign(mark, Class::Stretched))
                if matches!(mark.as_str(), "⏡" | "⏟" | "⏝" | "⎵") =>
            {
                Placement::Around
            }
            _ => Placement::Beside,
        },
        _ => Placement::Beside,
    }
}

fn command(alphabet: Alphabet) -> &'static str {
    match alphabet {
        Alphabet::Italic => "mathit",
        Alphabet::Bold => "mathbf",
        Alphabet::BoldItalic => "mathbfit",
        Alphabet::Script => "mathcal",
        Alphabet::BoldScript => "mathbfcal",
        Alphabet::Fraktur => "mathfrak",
        Alphabet::BoldFraktur => "mathbffrak",
        Alphabet::DoubleStruck => "mathbb",
        Alphabet::SansSerif => "mathsf",
        Alphabet::BoldSansSerif => "mathbfsfup",
        Alphabet::SansSerifItalic => "mathsfit",
        Alphabet::SansSerifBoldItalic => "mathbfsfit",
        Alphabet::Monospace => "mathtt",
    }
}

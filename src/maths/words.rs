//! A formula in words and plain characters.

use super::alphabet::Alphabet;
use super::{Class, Math, Placement, Scripts};

impl Math {
    /// Returns the formula for those who cannot see it: a fraction is `(a)/(b)`, a subscript `ρ_A`.
    pub fn words(&self) -> String {
        let mut said = String::new();
        say(self, &mut said);
        spaced(&said)
    }
}

/// Words of a part, with more spaces than it needs.
fn say(part: &Math, said: &mut String) {
    match part {
        Math::Variable(letter) => said.push(*letter),
        Math::Upright(text) | Math::Number(text) => said.extend(text.chars().map(plain)),
        Math::Text(text) => said.push_str(text),
        Math::Function(name) => {
            said.push_str(name);
            said.push(' ');
        }
        Math::Sign(sign, class) => say_sign(sign, *class, said),
        Math::Space(width) => {
            if *width > 0 {
                said.push(' ');
            }
        }
        Math::Break => said.push(' '),
        Math::Row(parts) => parts.iter().for_each(|part| say(part, said)),
        Math::Fraction { above, below, .. } => {
            said.push_str(&format!("({})/({})", one(above), one(below)));
        }
        Math::Scripts(scripts) => say_scripts(scripts, said),
        Math::Root { of, degree: None } => said.push_str(&format!("√({})", one(of))),
        Math::Root {
            of,
            degree: Some(degree),
        } => said.push_str(&format!("root of degree {} of ({})", one(degree), one(of))),
        Math::Fence {
            open,
            inside,
            close,
        } => {
            said.extend(open);
            say(inside, said);
            said.extend(close);
        }
        Math::Accent { on, mark, .. } => {
            let on = one(on);
            match accent(*mark) {
                Some(name) => said.push_str(&format!("{on} {name}")),
                None => said.push_str(&format!("{on} with {mark} above")),
            }
        }
        Math::Table { rows, .. } => {
            for (at, row) in rows.iter().enumerate() {
                said.push_str(if at > 0 { "; " } else { "" });
                for cell in row {
                    say(cell, said);
                    said.push(' ');
                }
            }
        }
        Math::Styled(_, inside) => say(inside, said),
    }
}

/// Returns a part by itself, without the spaces around it.
fn one(part: &Math) -> String {
    let mut said = String::new();
    say(part, &mut said);
    said.trim().to_owned()
}

fn say_sign(sign: &str, class: Class, said: &mut String) {
    let (not, sign) = match sign.strip_suffix('\u{338}') {
        Some(sign) => ("not ", sign),
        None => ("", sign),
    };
    match class {
        Class::Operator if sign == "/" => said.push('/'),
        Class::Operator | Class::Relation => said.push_str(&format!(" {not}{sign} ")),
        Class::Punctuation => said.push_str(&format!("{not}{sign} ")),
        Class::Large => said.push_str(match sign {
            "∑" => "sum ",
            "∏" => "product ",
            "∫" => "integral ",
            other => other,
        }),
        Class::Open(_) | Class::Close(_) | Class::Middle | Class::Stretched => {
            said.push_str(not);
            said.push_str(sign);
        }
    }
}

fn say_scripts(scripts: &Scripts, said: &mut String) {
    let base = one(&scripts.base);
    let [below, above] = [&scripts.below, &scripts.above].map(|script| script.as_ref().map(one));
    let beside = scripts.placement == Placement::Beside;
    if let (false, Some(below), None) = (beside, &below, &above) {
        said.push_str(&over_all(&base, below));
        return;
    }
    said.push_str(&base);
    if let Some(below) = below {
        said.push_str(&if beside {
            "_".to_owned() + &grouped(&below)
        } else {
            " from ".to_owned() + &below
        });
    }
    if let Some(above) = above {
        said.push_str(&if beside {
            "^".to_owned() + &grouped(&above)
        } else {
            [" to ", &above, " of "].concat()
        });
    }
}

/// Returns a sign with something below it and nothing above.
fn over_all(base: &str, below: &str) -> String {
    let range = below.contains(['=', '<', '>', '≤', '≥', '→']);
    match base {
        "sum" | "product" | "integral" if range => format!("{base} from {below} of "),
        "sum" | "product" | "integral" | "max" | "min" | "sup" | "inf" => {
            format!("{base} over {below} of ")
        }
        "lim" => format!("limit as {below} of "),
        _ => format!("{base} with {below} below"),
    }
}

/// Returns a script as it is said: in parentheses unless it is one word.
fn grouped(script: &str) -> String {
    if script.chars().all(char::is_alphanumeric) {
        script.to_owned()
    } else {
        format!("({script})")
    }
}

fn accent(mark: char) -> Option<&'static str> {
    Some(match mark {
        '‾' => "bar",
        '^' => "hat",
        '~' => "tilde",
        '→' => "vector",
        '˙' => "dot",
        '¨' => "double dot",
        '´' => "acute",
        '`' => "grave",
        '˘' => "breve",
        'ˇ' => "check",
        '˚' => "ring",
        _ => return None,
    })
}

/// Returns a letter without its style.
fn plain(letter: char) -> char {
    Alphabet::from_styled(letter).map_or(letter, |(_, plain)| plain)
}

/// Returns one space between words, none after a sign that belongs to what follows.
fn spaced(said: &str) -> String {
    let mut text = String::with_capacity(said.len());
    let mut glued = true;
    for word in said.split_whitespace() {
        if !glued {
            text.push(' ');
        }
        text.push_str(word);
        let before_sign = word.strip_suffix(['−', '+', '±']);
        glued = before_sign.is_some_and(|before| {
            if before.is_empty() {
                text.trim_end_matches(word)
                    .trim_end()
                    .ends_with(|c: char| !c.is_alphanumeric() && c != ')')
                    || text.len() == word.len()
            } else {
                before.ends_with(['(', '[', '{'])
            }
        });
    }
    text
}

//! Formulas in a text: one character stands for each.

use foldhash::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::Math;

/// The characters that stand for formulas: planes 15 and 16, which are for private use and which no text of a user's has.
const HANDLES: [std::ops::RangeInclusive<u32>; 2] = [0xF_0000..=0xF_FFFD, 0x10_0000..=0x10_FFFD];

/// Returns whether a character may stand for a formula.
pub fn is_handle(c: char) -> bool {
    HANDLES.iter().any(|plane| plane.contains(&u32::from(c)))
}

/// The formulas of a text, each once.
#[derive(Debug, Default)]
pub struct Handles(Mutex<Held>);

#[derive(Debug, Default)]
struct Held {
    indices: HashMap<Arc<Math>, usize>,
    all: Vec<Arc<Math>>,
}

impl Handles {
    fn held(&self) -> MutexGuard<'_, Held> {
        // A thread that panicked while it held the lock left whole formulas only.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Returns what stands for a formula in a text between signs of mathematics: a character, or its TeX if there are
    /// no more.
    pub fn text(&self, math: impl Into<Math>) -> String {
        let math = math.into();
        let mut held = self.held();
        let index = held.indices.get(&math).copied().unwrap_or_else(|| {
            let index = held.all.len();
            let shared = Arc::new(math.clone());
            held.all.push(Arc::clone(&shared));
            held.indices.insert(shared, index);
            index
        });
        let mut index = index;
        let mut handle = None;
        for plane in HANDLES {
            let count = plane.clone().count();
            if index < count {
                handle = char::from_u32(plane.start() + index as u32);
                break;
            }
            index -= count;
        }
        match handle {
            Some(handle) => handle.to_string(),
            None => math.tex(),
        }
    }

    /// Returns the formula that a character stands for.
    pub fn get(&self, handle: char) -> Option<Arc<Math>> {
        let code = u32::from(handle);
        let mut before = 0;
        for plane in HANDLES {
            if plane.contains(&code) {
                let index = before + (code - plane.start()) as usize;
                return self.held().all.get(index).map(Arc::clone);
            }
            before += plane.count();
        }
        None
    }

    /// Returns a text with the TeX of each formula in place of what stands for it.
    pub fn spelled_out(&self, text: &str) -> String {
        let mut spelled = String::with_capacity(text.len());
        for c in text.chars() {
            match self.get(c) {
                Some(math) => spelled.push_str(&math.tex()),
                None => spelled.push(c),
            }
        }
        spelled
    }
}

#[cfg(test)]
mod tests {
    use super::{Handles, Math, is_handle};

    #[test]
    fn a_character_stands_for_each_formula() {
        let handles = Handles::default();
        let [rho, again, b] = ["ρ_A", "ρ_A", "b_0"].map(|symbol| handles.text(symbol));
        assert_eq!(rho, again);
        assert_ne!(rho, b);
        let handle = rho.chars().next().unwrap();
        assert!(is_handle(handle) && rho.chars().count() == 1);
        assert_eq!(handles.get(handle).as_deref(), Some(&Math::from("ρ_A")));
        assert_eq!(handles.get('\u{10fffd}'), None);
        assert_eq!(handles.spelled_out(&format!("{b} x")), "b_0 x");
    }
}

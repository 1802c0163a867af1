//! Results calculated by hand, judged.

use crate::simulation::claims::{Mistake, marked};
use crate::simulation::judge::each;
use std::collections::BTreeMap;

#[test]
fn right_work_is_judged_right() {
    for student in each(0, 60, |run| marked(run, None)) {
        assert_eq!(
            student.departing, 0,
            "{}\n{:#?}",
            student.text, student.judged
        );
    }
}

#[test]
fn the_usual_mistakes_are_told_and_counted_once() {
    let mut shares: BTreeMap<&str, [usize; 3]> = BTreeMap::new();
    let mut missed = String::new();
    for (number, mistake) in Mistake::all().into_iter().enumerate() {
        let students = each(1000 + 10 * number as u64, 2, |run| {
            marked(run, Some(mistake))
        });
        for student in students {
            if !student.changed {
                continue;
            }
            let [all, told, once] = shares.entry(mistake.kind().word()).or_default();
            *all += 1;
            *told += usize::from(student.told);
            *once += usize::from(student.departing <= 1);
            if !student.told || student.departing > 1 {
                missed += &format!(
                    "{mistake:?}: told {}, {} depart; ",
                    student.told, student.departing
                );
            }
        }
    }
    println!("{shares:#?}");
    for (kind, [all, told, once]) in shares {
        assert!(
            100 * told >= 95 * all,
            "{kind}: {told} of {all} told\n{missed}"
        );
        assert!(
            100 * once >= 95 * all,
            "{kind}: {once} of {all} once\n{missed}"
        );
    }
}

//! The same input gives the same bytes, from whichever build and on whichever processor: digests of what the samples gave
//! stand in a snapshot, and every build that the tests are run in must give them again.
//!
//! Debug and release builds give equal files, results attached (by hand, on one machine). With other variants of the
//! system's mathematics (`GLIBC_TUNABLES=glibc.cpu.hwcaps=-FMA,-AVX2`) the digests hold, but the last digits of attached,
//! unrounded results differ.

use fillmark::print::layout::{self, Style};
use fillmark::print::pdf;
use fillmark::print::typeface::Typefaces;
use fillmark::report::templates::Templates;
use md5::{Digest, Md5};

use crate::common::{read, reduced, sample_runs};

/// The file is taken without what is attached to it: the results there are unrounded, down to shares of nothing but
/// rounding, and the last digit of a logarithm is a matter of the system's own mathematics. No more than the decimals of
/// print and thousandths of a point of all this come onto the pages.
#[test]
fn every_build_gives_the_same_bytes() {
    let mut lines = String::new();
    for file in sample_runs() {
        let text = read(&file);
        let run = reduced(&text);
        let faces = Typefaces::load();
        let manuscript = fillmark::report::manuscript(&run.material(&text), &Templates::default());
        let manuscript = manuscript.expect("a manuscript");
        let laid = layout::set(manuscript, &faces, &Style::default());
        let bytes = pdf::write(laid.expect("it can be set").document, &faces);
        let bytes = bytes.expect("a PDF file");
        let name = file.file_name().expect("a name").to_string_lossy();
        let digest = u128::from_be_bytes(Md5::digest(&bytes).into());
        lines += &format!("{name} {digest:032x}\n");
    }
    assert!(lines.lines().count() >= 3, "{lines}");
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("report_digests", lines);
    });
}

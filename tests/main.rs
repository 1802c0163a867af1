//! tests
#[cfg(test)]
mod pdf_bytes;

//! The run file: text in, what it says out, each entry with its name and place; or every problem it has.

pub mod model;

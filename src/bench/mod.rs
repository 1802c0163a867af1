//! What happens at the bench: readings, what follows from them, and what is odd about them. Nothing here knows of pages.

pub mod claims;
pub mod fit;
pub mod interlaboratory;
pub mod plan;
pub mod practice;
pub mod quantity;
pub mod reduce;
pub mod reference;
pub mod revision;
pub mod runfile;
pub mod worksheet;

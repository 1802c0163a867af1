//! From content to finished bytes. Nothing here knows of salt.

pub mod figure;
pub mod house_style;
pub mod layout;
pub mod manuscript;
pub mod markup;
pub mod page;
pub mod pdf;
pub mod picture;
pub mod typeface;

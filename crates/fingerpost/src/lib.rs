//! Reads the road signs of a score and says in which order its measures are played, and why.
#![forbid(unsafe_code)]
#![deny(missing_docs)]

mod board;
mod compare;
mod explain;
mod legality;
mod reading;
mod roadmap;
mod route;

pub use board::*;
pub use compare::*;
pub use explain::*;
pub use legality::*;
pub use reading::*;
pub use roadmap::*;
pub use route::*;

//! What several tests share.
#![allow(dead_code, unreachable_pub)] // Each test takes what it needs.

pub mod boards;
pub mod pages;

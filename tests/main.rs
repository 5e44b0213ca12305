//! All integration tests, in one binary so that everything links once.

mod command;
mod independent;

//! All integration tests, in one binary so that everything links once.

mod command;
mod commands;
mod findings;
mod independent;
mod layers;

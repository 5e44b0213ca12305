//! All integration tests, in one binary so that everything links once.

mod closed_forms;
mod command;
mod commands;
mod documents;
mod findings;
mod independent;
mod laws;
mod layers;
mod layout;
mod limits;
mod mutations;
mod reference;
mod spread;
mod surveys;

//! All integration tests, in one binary so that everything links once.

mod choice;
mod closed_forms;
mod command;
mod commands;
mod documents;
mod drawings;
mod findings;
mod independent;
mod laws;
mod layers;
mod layout;
mod limits;
mod mutations;
mod reference;
mod spread;
mod travel;
mod tune;

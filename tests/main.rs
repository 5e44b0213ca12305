//! All integration tests, in one binary so that everything links once.

mod appending;
mod closed_forms;
mod command;
mod commands;
mod correct;
mod documents;
mod findings;
mod fits;
mod home;
mod independent;
mod laws;
mod layers;
mod layout;
mod limits;
mod mutations;
mod records;
mod reference;
mod spread;
mod survey_files;
mod workshop;

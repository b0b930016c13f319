//! The one loader at the edge and the desk where questions are asked. In: the data shipped with the program (and any
//! folder of further data, already read); out: answers. Must never know: terminals, pages, colours.

mod data;
mod desk;
mod faults;
mod load;
mod own;
mod rank;
mod reference;
mod repeats;
mod setup_search;
mod similar;
mod why;

pub use desk::{Behind, Resolved, Study, Trace, World};
pub use faults::FaultSpec;
pub use load::Library;
pub use mechanics::solve::unbalanced_limit_nm;
pub use own::{FaultSeen, FileCheck, FileProblem, gate_bodies};
pub use reference::{DEFAULT_DRAWS, DEFAULT_SEED, ReferenceTable};
pub use setup_search::Searchable;
pub use similar::Sparing;

use answer::Settings;

/// Person for whom a question is asked.
#[derive(Clone, Debug)]
pub struct Person {
    /// Shown with the answer: "an average man", "Demo client A".
    pub who: String,
    pub female: bool,
    pub stature_m: f64,
    pub mass_kg: f64,
    /// Tape measures by name, m (`thigh_m`, `shank_m`, `trunk_m`, `upper_arm_m`, `forearm_m`, `span_m`, `biacromial_m`).
    pub tape_m: Vec<(String, f64)>,
    /// Years of training; `None` when not known.
    pub training_years: Option<f64>,
    pub age_years: Option<f64>,
}

impl Person {
    /// The man the tables were written for: 1.75 m, 75 kg.
    pub fn average_man() -> Person {
        Person {
            who: "an average man".into(),
            female: false,
            stature_m: 1.75,
            mass_kg: 75.0,
            tape_m: Vec::new(),
            training_years: None,
            age_years: None,
        }
    }
}

/// A movement as asked for: a name or alias, with changed settings.
#[derive(Clone, Debug)]
pub struct Ask {
    pub movement: String,
    pub settings: Settings,
    pub person: Person,
    /// Random draws behind the range; 0 = mid values only.
    pub draws: usize,
    pub seed: u64,
    /// Frames of the lift.
    pub frames: usize,
    /// Ask for drawing data and ribbons.
    pub scene: bool,
}

impl Ask {
    /// Middle values of a movement as it stands, in the average man, over 21 frames.
    pub fn middle(movement: &str) -> Ask {
        Ask {
            movement: movement.into(),
            settings: Settings::new(),
            person: Person::average_man(),
            draws: 0,
            seed: 1,
            frames: 21,
            scene: false,
        }
    }
}

/// Why a question could not be answered. Text is plain coach's English, with numbers and nearest names.
#[derive(Debug, thiserror::Error)]
pub enum AskError {
    #[error("no movement called \"{name}\"{}", nearest_text(.nearest))]
    UnknownMovement { name: String, nearest: Vec<String> },
    #[error("no muscle head called \"{name}\"{}", nearest_text(.nearest))]
    UnknownHead { name: String, nearest: Vec<String> },
    #[error("{movement} has no setting \"{key}\"{}", nearest_text(.nearest))]
    UnknownSetting { movement: String, key: String, nearest: Vec<String> },
    #[error("{0}")]
    Problem(String),
}

fn nearest_text(nearest: &[String]) -> String {
    match nearest {
        [] => String::new(),
        // Names of movements contain commas.
        n => format!("; nearest: {}", n.join("; ")),
    }
}

//! `proof`: our numbers beside published ones.

use super::{End, answer, mention};
use crate::render;
use crate::terminal::{Ink, Progress};
use std::path::PathBuf;

/// Our numbers beside published ones, with every miss
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Compares what the program computes with what others have measured or calculated: lever arms, torques, \
                  directions of pull, lengths, body segments, textbook problems, general-purpose libraries. Prints how \
                  many of all rows lie inside the published spread, group by group, beside the goal where one was set \
                  beforehand; a miss stays a miss. Rows are left out by stated rules only, and counted.",
    after_long_help = "Examples:
  lengthwise proof
  lengthwise proof --group moment-arms --part \"knee flexion\"

Measurements of your own are judged by the same code: write them into a table
named like a group, for instance mine/moment-arms.csv, and say
  lengthwise proof --from mine --group moment-arms
What the columns mean stands in docs/proof_cases.md. With --json a list of rows:
group, id, source, how, value, published, tolerance, unit, pass, fitted, part,
note and reason: the mechanical cause we believe a miss to have."
)]
pub struct Args {
    /// Shows every row of this group
    #[arg(long, value_name = "NAME")]
    group: Option<String>,
    /// Only rows of this part of the group
    #[arg(long, value_name = "PART", requires = "group")]
    part: Option<String>,
    /// Only rows that miss
    #[arg(long)]
    misses: bool,
    /// Folder with case tables of your own, named like the groups
    #[arg(long, value_name = "DIR")]
    from: Option<PathBuf>,
    /// Prints the rows as JSON
    #[arg(long)]
    json: bool,
    /// Also draws lever arms over their angles with the published points; .svg or
    /// .png, with --group moment-arms
    #[arg(long, value_name = "FILE", value_parser = crate::args::figure_file, requires = "group")]
    figure: Option<PathBuf>,
}

impl Args {
    pub fn run(&self) -> End {
        let progress = Progress::start("Comparing with published numbers");
        let (mut proof, warnings) = desk::proof(self.group.as_deref(), self.from.as_deref())?;
        drop(progress);
        mention(&warnings);
        if let Some(part) = &self.part {
            desk::keep_part(&mut proof, part)?;
        }
        if let Some(path) = &self.figure {
            super::write_figure(path, &desk::arms_picture(&proof)?)?;
        }
        if self.misses {
            proof.rows.retain(|r| !r.pass);
        }
        let rows = self.group.is_some() || self.misses;
        answer(self.json, &proof.rows, || render::proof::proof(&proof, rows, Ink::for_stdout()))
    }
}

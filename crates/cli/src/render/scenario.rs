//! Text of `scenario`: the question, then each command with its own answer.

use super::text::{Page, WIDTH, wrap};
use crate::terminal::Ink;
use answer::Look;
use desk::{Asked, Scenario, ScenarioAnswer};

pub fn scenario(s: &Scenario, answers: &[ScenarioAnswer], ink: Ink) -> String {
    let mut page = Page::default();
    wrap(&s.title, WIDTH, "", "").iter().for_each(|line| page.line(&ink.bold(line)));
    page.prose(&s.question);
    for a in answers {
        page.gap();
        wrap(&format!("lengthwise {}", a.command), WIDTH, "> ", "    ")
            .iter()
            .for_each(|line| page.line(&ink.dim(line)));
        page.gap();
        page.text.push_str(&one(&a.asked, ink));
    }
    page.text
}

fn one(asked: &Asked, ink: Ink) -> String {
    let looks = |all: &[Look]| all.iter().map(|l| super::look::look(l, false, ink)).collect::<Vec<_>>().join("\n");
    match asked {
        Asked::Audit(a) => super::audit::audit(a, super::audit::Detail::default(), ink),
        Asked::Propose(p) => super::propose::propose(p, ink),
        Asked::LayOut(l) => super::lay_out::lay_out(l, ink),
        Asked::Look(l) => looks(std::slice::from_ref(l)),
        Asked::Compare(c) => super::compare::compare(c, false, ink),
        Asked::Rank(r) => super::rank::rank(r, false, ink),
        Asked::Similar(s) => super::similar::similar(s, ink),
        Asked::Why(w) => super::why::why(w, ink),
    }
}

//! A review under way: what stands, what is asked next, every answer kept at once.

use std::path::Path;

use crate::edits::{self, Edits, EditsError, Notice, write_table};
use crate::output::{OutDir, OutputError, csv, safe_stem};
use crate::pipeline::{self, Settled, SettledError, Stopped, Watch};
use crate::plan::Plan;
use crate::report::Report;
use crate::roll::Trip;

use super::answer::{Answer, Refused, Standing};
use super::doubt::{Doubt, doubts};
use super::question::{Question, ask};
use super::undo::Step;

/// Why a review cannot go on.
#[derive(Debug, thiserror::Error)]
pub enum SessionError {
    /// The trip was not taken in.
    #[error(transparent)]
    Settled(#[from] SettledError),
    /// The results cannot be read or written.
    #[error(transparent)]
    Output(#[from] OutputError),
    /// What was changed by hand cannot be read or kept.
    #[error(transparent)]
    Edits(#[from] EditsError),
    /// An answer was not taken; nothing was changed.
    #[error(transparent)]
    Refused(#[from] Refused),
    /// The results could not be written anew.
    #[error(transparent)]
    Stopped(#[from] Stopped),
}

/// A review of one trip. Holds the trip's results for itself until dropped.
#[derive(Debug)]
pub struct Session {
    plan: Plan,
    out: OutDir,
    kept: Settled,
    edits: Edits,
    /// The evidence, under the numbers that stand now.
    numbered: Trip,
    trip: Trip,
    doubts: Vec<Doubt>,
    steps: Vec<Step>,
    answered: bool,
}

impl Session {
    /// Opens the results of a trip.
    ///
    /// # Errors
    /// When the trip was not taken in, or its results cannot be read or are held by another run.
    pub fn open(plan: Plan) -> Result<Self, SessionError> {
        let out = OutDir::open(&plan.out, &plan.layout.root)?;
        let kept = Settled::kept(&out)?;
        let edits = edits::gather(&out)?;
        let none = || Trip { name: String::new(), rolls: Vec::new() };
        let (numbered, trip) = (none(), none());
        let mut session =
            Self { plan, out, kept, edits, numbered, trip, doubts: Vec::new(), steps: Vec::new(), answered: false };
        session.settle();
        session.tables_anew()?;
        Ok(session)
    }

    /// The trip as it stands.
    pub fn trip(&self) -> &Trip {
        &self.trip
    }

    /// What the evidence came to, with the words and the edge lines.
    pub fn kept(&self) -> &Settled {
        &self.kept
    }

    /// What is to be done with the trip.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// What is in doubt, gravest first.
    pub fn doubts(&self) -> &[Doubt] {
        &self.doubts
    }

    /// Whether an answer can be taken back.
    pub fn can_undo(&self) -> bool {
        !self.steps.is_empty()
    }

    /// A doubt as a question.
    pub fn ask(&self, doubt: &Doubt) -> Option<Question> {
        ask(doubt, &self.trip, &self.plan.kit, self.kept.unsure_below)
    }

    /// Takes an answer and keeps it. What should be known comes back: changes that were made in a
    /// table meanwhile, edits that wait.
    ///
    /// # Errors
    /// [`SessionError::Refused`] when it makes no sense here; else when it could not be kept. In
    /// both cases nothing was changed.
    pub fn answer(&mut self, answer: &Answer) -> Result<Vec<Notice>, SessionError> {
        let mut told = self.look_at_tables()?;
        let mut edits = self.edits.clone();
        let (kit, unsure_below) = (&self.plan.kit, self.kept.unsure_below);
        answer.lay(&mut edits, Standing { evidence: &self.numbered, settled: &self.trip, kit, unsure_below })?;
        let step = Step::between(&self.edits, &edits);
        edits::save(&self.out, &edits)?;
        let before = std::mem::replace(&mut self.edits, edits);
        if !step.is_nothing() {
            self.steps.push(step);
            self.answered = true;
        }
        told.extend(self.settle_from(&before));
        if answer.moves_frames() {
            self.write_tables()?;
        }
        Ok(told)
    }

    /// Takes the last answer back.
    ///
    /// # Errors
    /// When that could not be kept; then nothing was changed.
    pub fn undo(&mut self) -> Result<Vec<Notice>, SessionError> {
        let mut told = self.look_at_tables()?;
        let Some(step) = self.steps.last() else { return Ok(told) };
        let mut edits = self.edits.clone();
        if !step.back(&mut edits) {
            let text = "some of it was changed since, and stays".to_owned();
            told.push(Notice { place: "undo".to_owned(), text });
        }
        edits::save(&self.out, &edits)?;
        self.steps.pop();
        let before = std::mem::replace(&mut self.edits, edits);
        told.extend(self.settle_from(&before));
        self.write_tables()?;
        Ok(told)
    }

    /// Takes in what was changed in the tables meanwhile. Returns what should be known of it.
    ///
    /// # Errors
    /// When the edits cannot be read or kept.
    pub fn look_at_tables(&mut self) -> Result<Vec<Notice>, SessionError> {
        let before = self.edits.all.clone();
        let mut found = edits::gather(&self.out)?;
        let told = std::mem::take(&mut found.notices);
        if !found.waits_for_tables() {
            return Ok(told);
        }
        self.edits = found;
        if self.edits.all != before {
            self.settle();
            self.answered = true;
        }
        self.tables_anew()?;
        Ok(told)
    }

    /// Writes every result anew.
    ///
    /// # Errors
    /// At the first that cannot be written.
    pub fn finish(&mut self, watch: &dyn Watch) -> Result<Vec<Notice>, SessionError> {
        let mut told = self.look_at_tables()?;
        if !self.answered {
            return Ok(told);
        }
        let mut trip = self.kept.trip.clone();
        let edits = self.edits.clone();
        let inputs = self.kept.inputs.clone();
        let list = |_: &Trip, _: &Report| inputs.clone();
        let mut report = self.kept.report.clone();
        told.extend(pipeline::results(&self.plan, &self.out, &mut trip, edits, &list, &mut report, watch)?.0);
        self.answered = false;
        Ok(told)
    }

    /// Where the results lie.
    pub fn out(&self) -> &Path {
        self.out.root()
    }

    /// Settles again what other edits than `before` bear on: one roll, where they are all of it and none of them
    /// reaches beyond it; else the trip.
    fn settle_from(&mut self, before: &Edits) -> Vec<Notice> {
        let Some(roll) = self.edits.only_roll_changed(before) else { return self.settle() };
        let (kit, unsure_below) = (&self.plan.kit, self.kept.unsure_below);
        let of = |trip: &Trip| trip.rolls.iter().position(|r| r.name == roll);
        let (Some(kept), Some(numbered), Some(settled)) = (of(&self.kept.trip), of(&self.numbered), of(&self.trip))
        else {
            return self.settle();
        };
        let one = || Trip { name: self.kept.trip.name.clone(), rolls: vec![self.kept.trip.rolls[kept].clone()] };
        let mut trip = one();
        let mut edits = self.edits.of_roll(&roll);
        let evidence = edits.numbered(&trip, kit, unsure_below);
        let notices = edits.apply(&mut trip, kit, unsure_below);
        let ([evidence], [stands]) = (&mut { evidence.rolls }[..], &mut trip.rolls[..]) else { return self.settle() };
        std::mem::swap(&mut self.numbered.rolls[numbered], evidence);
        std::mem::swap(&mut self.trip.rolls[settled], stands);
        self.edits.take_roll(&roll, edits);
        self.doubts = doubts(&self.trip);
        notices
    }

    /// Settles the trip again with all edits.
    fn settle(&mut self) -> Vec<Notice> {
        let (kit, unsure_below) = (&self.plan.kit, self.kept.unsure_below);
        self.numbered = self.edits.numbered(&self.kept.trip, kit, unsure_below);
        let mut trip = self.kept.trip.clone();
        let notices = self.edits.apply(&mut trip, kit, unsure_below);
        self.trip = trip;
        self.doubts = doubts(&self.trip);
        notices
    }

    /// Tables that were changed by hand and taken in are written anew, so that nothing of them is
    /// taken for a later change.
    fn tables_anew(&mut self) -> Result<(), SessionError> {
        if self.edits.waits_for_tables() {
            self.write_tables()?;
        }
        Ok(())
    }

    fn write_tables(&mut self) -> Result<(), SessionError> {
        for roll in &self.trip.rolls {
            write_table(&self.out, &format!("{}.csv", safe_stem(roll.name.as_str())), &csv::write(roll))?;
        }
        self.edits.written();
        edits::save(&self.out, &self.edits)?;
        Ok(())
    }
}

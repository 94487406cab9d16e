//! What is laid out before the work, and how lists are told.

use super::state::{Frame, List, Phase};
use super::{Job, Out};
use crate::Tone;

/// So many things of a list are told at once.
pub(super) const AT_ONCE: usize = 5;

impl Job {
    /// The pages that are read out one after the other; empty ones are left out.
    pub(super) fn pages_to_lay_out(&self) -> Vec<(String, &[String])> {
        let all = &self.procedure.lay_out;
        let lines = self.lines();
        let lists = [
            (lines.put_on(), &all.protection),
            (lines.tools_to_lay_out(), &all.tools),
            (lines.parts_to_lay_out(), &all.parts),
            (lines.consumables_to_lay_out(), &all.consumables),
        ];
        let pages = lists
            .into_iter()
            .map(|(heading, list)| (heading, &list[..]));
        match self.settings.in_fives {
            true => pages
                .flat_map(|(heading, list)| {
                    let chunks = list.chunks(AT_ONCE);
                    chunks.map(move |chunk| (heading.clone(), chunk))
                })
                .collect(),
            false => pages.collect(),
        }
    }

    /// A page in words.
    pub(super) fn page_to_lay_out(&self, page: usize) -> String {
        let pages = self.pages_to_lay_out();
        let Some((heading, list)) = pages.get(page) else {
            return String::new();
        };
        let list: Vec<String> = list.iter().map(|it| self.filled(it, None)).collect();
        let (heading, list) = (heading.as_str(), list.join("; "));
        let is_last = !self.settings.in_fives || page + 1 == pages.len();
        match (page, is_last) {
            (_, true) => self.lines().lay_out(heading, list),
            (0, false) => self.lines().lay_out_first(heading, list),
            (_, false) => self.lines().lay_out_and_more(heading, list),
        }
    }

    /// Reads out what to lay out from this page on, or begins the work where nothing is left.
    pub(super) fn lay_out(&mut self, from: usize, out: &mut Out) {
        let pages = self.pages_to_lay_out();
        let mut rest = pages.iter().enumerate().skip(from);
        match rest.find(|(_, (_, list))| !list.is_empty()) {
            Some((page, _)) => {
                self.core.phase = Phase::LayingOut(page);
                out.say(Tone::Step, self.page_to_lay_out(page));
            }
            None => self.begin_work(out),
        }
    }

    /// "It's all laid out."
    pub(super) fn laid_out(&mut self, out: &mut Out) {
        match self.core.phase {
            Phase::LayingOut(_) => self.begin_work(out),
            Phase::Choosing(_)
            | Phase::Working
            | Phase::MakingSafe
            | Phase::Waiting
            | Phase::Closed(_) => self.tell_place(out),
        }
    }

    fn begin_work(&mut self, out: &mut Out) {
        self.core.phase = Phase::Working;
        self.core.frames = vec![Frame {
            list: List::Main,
            at: 0,
        }];
        self.settle();
        self.arrive(out);
    }

    /// "Go on": what of a list wasn't told yet, the next page of what to lay out, or else where we are.
    pub(super) fn go_on(&mut self, rest: Vec<String>, out: &mut Out) {
        match self.core.phase {
            _ if !rest.is_empty() => {
                out.list(Tone::Answer, self.lines(), rest, |_, list| {
                    format!("{list}.")
                });
            }
            Phase::LayingOut(page)
                if self.settings.in_fives && page + 1 < self.pages_to_lay_out().len() =>
            {
                self.lay_out(page + 1, out);
            }
            Phase::Choosing(_)
            | Phase::LayingOut(_)
            | Phase::Working
            | Phase::MakingSafe
            | Phase::Waiting
            | Phase::Closed(_) => self.tell_place(out),
        }
    }
}

//! Whether two windows meet: what each edit touches, and what was touched since a version.

use crate::api::ask::Ask;
use crate::api::edit::{Edit, Problem};
use holding::{Holding, Measure};
use std::collections::{BTreeSet, HashMap, VecDeque};

/// Edits remembered; a page that is further behind looks at the plan anew.
const LOG_KEPT: usize = 20_000;
/// Edits of others told at most.
const THEIRS_TOLD: usize = 12;

/// A thing of the plan, by layer and id. An empty id is the whole layer.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Thing {
    layer: String,
    id: String,
}

/// The measures of an option, as one thing.
const OF_OPTION: &str = "measures of option";

impl Thing {
    pub(crate) fn new(layer: &str, id: &str) -> Thing {
        Thing { layer: layer.into(), id: id.into() }
    }

    pub(crate) fn layer(layer: &str) -> Thing {
        Thing::new(layer, "")
    }

    fn of_option(number: u32) -> Thing {
        Thing::new(OF_OPTION, &number.to_string())
    }

    fn meets(&self, other: &Thing) -> bool {
        self.layer == other.layer && (self.id == other.id || self.id.is_empty() || other.id.is_empty())
    }
}

/// The table of the plan file that a layer of the page is.
pub(super) fn table_of(layer: &str) -> &str {
    match layer {
        "sticks" => "stick_heights",
        "probes" => "peat_probes",
        other => other,
    }
}

/// What an edit touches, or what must not have been touched under its hands.
pub(crate) fn things(edit: &Edit, holding: &Holding, offers: &HashMap<u64, (Ask, Vec<Measure>)>) -> Vec<Thing> {
    let measure = |id: &String| {
        let of = holding.measures.iter().find(|m| m.id == *id).map(|m| Thing::new(OF_OPTION_WRITES, &m.option.to_string()));
        [Some(Thing::new("measures", id)), of]
    };
    match edit {
        Edit::PutMeasure(draft) => {
            let mut all: Vec<Thing> = draft.id.iter().flat_map(measure).flatten().collect();
            all.push(Thing::new(OF_OPTION_WRITES, &draft.option.to_string()));
            all
        }
        Edit::DropMeasures { ids } => ids.iter().flat_map(measure).flatten().collect(),
        Edit::Lay { job } => {
            let measures = offers.get(job).map(|(_, measures)| measures.as_slice()).unwrap_or_default();
            measures.iter().map(|m| Thing::new(OF_OPTION_WRITES, &m.option.to_string())).collect()
        }
        Edit::AddOption { copy_of, .. } => copy_of.iter().map(|number| Thing::of_option(*number)).collect(),
        Edit::NameOption { number, .. } => vec![Thing::new("options", &number.to_string())],
        Edit::DropOption { number } => {
            let gone = holding.measures.iter().filter(|m| m.option == *number).map(|m| Thing::new("measures", &m.id));
            gone.chain([Thing::new("options", &number.to_string()), Thing::of_option(*number)]).collect()
        }
        Edit::PutVisit(draft) => draft.id.iter().map(|id| Thing::new("visits", id)).collect(),
        Edit::DropVisit { id } => vec![Thing::new("visits", id)],
        Edit::SetFeature { layer, id, .. } | Edit::DropFeature { layer, id } => vec![Thing::new(table_of(layer), id)],
    }
}

/// Noted for an edit that writes among the measures of an option: it meets those that need them all to stay, not others that write.
const OF_OPTION_WRITES: &str = "among measures of option";

/// What rows of a step are, as things.
pub(crate) fn of_rows(rows: &[(String, String)], before: &Holding, after: &Holding) -> BTreeSet<Thing> {
    let mut all: BTreeSet<Thing> = rows.iter().map(|(table, id)| Thing::new(table, id)).collect();
    let measures = before.measures.iter().chain(&after.measures);
    let turned = |m: &&Measure| rows.iter().any(|(table, id)| table == "measures" && *id == m.id);
    all.extend(measures.filter(turned).map(|m| Thing::new(OF_OPTION_WRITES, &m.option.to_string())));
    all
}

/// One edit that was done.
struct Entry {
    version: u64,
    things: BTreeSet<Thing>,
    label: String,
}

/// What was done since the plan was opened.
pub(crate) struct Log {
    /// Of versions before this nothing is known.
    first: u64,
    entries: VecDeque<Entry>,
}

impl Log {
    /// Nothing was done; this is the version.
    pub(crate) fn from(version: u64) -> Log {
        Log { first: version, entries: VecDeque::new() }
    }

    /// Note an edit.
    pub(crate) fn note(&mut self, version: u64, things: BTreeSet<Thing>, label: &str) {
        self.entries.push_back(Entry { version, things, label: label.into() });
        if self.entries.len() > LOG_KEPT
            && let Some(oldest) = self.entries.pop_front()
        {
            self.first = oldest.version;
        }
    }

    /// How many edits others did since a version, where none of them touched these things.
    pub(crate) fn meet(&self, version: u64, now: u64, things: &BTreeSet<Thing>) -> Result<u64, Problem> {
        self.known(version, now)?;
        let since = || self.entries.iter().filter(|entry| entry.version > version);
        let met: Vec<&Entry> = since().filter(|entry| entry.things.iter().any(|theirs| things.iter().any(|mine| meets(mine, theirs)))).collect();
        if met.is_empty() { Ok(since().count() as u64) } else { Err(changed("The same was changed in another window meanwhile", now, &met)) }
    }

    /// Whether nothing at all was done since a version.
    pub(crate) fn only_of(&self, version: u64, now: u64) -> Result<(), Problem> {
        self.known(version, now)?;
        let since: Vec<&Entry> = self.entries.iter().filter(|entry| entry.version > version).collect();
        if since.is_empty() { Ok(()) } else { Err(changed("The plan was changed in another window meanwhile; look at it before taking anything back", now, &since)) }
    }

    fn known(&self, version: u64, now: u64) -> Result<(), Problem> {
        if (self.first..=now).contains(&version) {
            return Ok(());
        }
        let title = "The page shows a plan that was opened at another time; it must be loaded again";
        Err(Problem { version: Some(now), ..Problem::new("changed", title) })
    }
}

fn meets(mine: &Thing, theirs: &Thing) -> bool {
    // Who needs the measures of an option as they are, and who wrote among them, whichever came first.
    let crossed = |a: &Thing, b: &Thing| a.layer == OF_OPTION && b.layer == OF_OPTION_WRITES && a.id == b.id;
    if mine.layer == OF_OPTION_WRITES && theirs.layer == OF_OPTION_WRITES {
        return false;
    }
    // A whole layer of measures is written: whatever touches a measure meets it.
    let whole = |a: &Thing, b: &Thing| a.layer == "measures" && a.id.is_empty() && (b.layer == OF_OPTION_WRITES || b.layer == OF_OPTION);
    mine.meets(theirs) || crossed(mine, theirs) || crossed(theirs, mine) || whole(mine, theirs) || whole(theirs, mine)
}

fn changed(title: &str, now: u64, theirs: &[&Entry]) -> Problem {
    let mut words: Vec<String> = theirs.iter().rev().take(THEIRS_TOLD).map(|entry| entry.label.clone()).collect();
    if theirs.len() > THEIRS_TOLD {
        words.push(format!("and {} edits before", theirs.len() - THEIRS_TOLD));
    }
    Problem { version: Some(now), theirs: words, ..Problem::new("changed", title) }
}

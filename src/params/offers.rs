//! What the files of a job offer for reference: holes, mounts, pulleys, processes.

use std::collections::BTreeMap;

use super::record::Record;

/// The names a block or accessory file offers.
#[derive(Debug, Clone, Default)]
pub(super) struct Offers {
    /// Holes of a block, mounts of an accessory.
    pub(super) holes: Vec<String>,
    /// Pulleys of a block.
    pub(super) pulleys: Vec<String>,
    /// Whether an accessory has a pulley.
    pub(super) has_pulley: bool,
    /// Whether the lists are known to be whole.
    pub(super) complete: bool,
}

impl Offers {
    /// What a block's record offers.
    pub(super) fn of_block(record: &Record, complete: bool) -> Self {
        Self {
            holes: ids(record, "hole"),
            pulleys: ids(record, "pulley"),
            has_pulley: true,
            complete,
        }
    }

    /// What an accessory's record offers.
    pub(super) fn of_accessory(record: &Record, complete: bool) -> Self {
        Self {
            holes: ids(record, "mount"),
            pulleys: Vec::new(),
            has_pulley: record.has("pulley"),
            complete,
        }
    }

    /// What either of two files offers.
    fn or(&mut self, other: &Self) {
        self.holes.extend_from_slice(&other.holes);
        self.pulleys.extend_from_slice(&other.pulleys);
        self.has_pulley |= other.has_pulley;
        self.complete &= other.complete;
    }
}

/// The ids of the tables under `key`, of refused ones too.
pub(super) fn ids(record: &Record, key: &str) -> Vec<String> {
    record.tables(key).filter_map(|t| t.string("id")).collect()
}

/// What the files that a job names offer; a name without an entry could not be read.
#[derive(Debug, Default)]
pub(super) struct Offered {
    /// By block file.
    pub(super) blocks: BTreeMap<String, Offers>,
    /// By accessory file.
    pub(super) accessories: BTreeMap<String, Offers>,
    /// Process ids of the shop; `None` when it could not be read.
    pub(super) processes: Option<Vec<String>>,
}

/// What each owner (`block` or a placed accessory) offers in the job or any of its variants.
pub(super) fn owners(job: &Record, offered: &Offered) -> BTreeMap<String, Offers> {
    let mut out: BTreeMap<String, Offers> = BTreeMap::new();
    let mut add = |owner: &str, offers: Option<&Offers>| {
        // A file that could not be read may offer anything.
        let offers = offers.cloned().unwrap_or_default();
        match out.get_mut(owner) {
            Some(known) => known.or(&offers),
            None => {
                out.insert(owner.to_owned(), offers);
            }
        }
    };
    let block = job.text("block").unwrap_or("");
    add("block", offered.blocks.get(block));
    for place in job.tables("place") {
        if let Some(id) = place.text("id") {
            let file = place.text("accessory").unwrap_or("");
            add(id, offered.accessories.get(file));
        }
    }
    for variant in job.tables("variant") {
        if let Some(block) = variant.text("block") {
            add("block", offered.blocks.get(block));
        }
        for (id, _, file) in variant.map("replace") {
            add(id, offered.accessories.get(file.text().unwrap_or("")));
        }
    }
    out
}

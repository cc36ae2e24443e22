//! A plan written into the job file's text; everything it does not change stays as the user wrote it.

use toml_edit::{Array, ArrayOfTables, DocumentMut, InlineTable, Item, Table, Value, value};

use crate::params::job::{BackFace, PlateSpec, Take, WindowKind};
use crate::params::keys::plate::facing;

use super::Plan;

/// Why the text cannot be edited.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// The text is no TOML.
    #[error("the job file cannot be edited: {0}")]
    Syntax(String),
    /// A table the plan changes is written in a form that cannot be edited.
    #[error("the job file has no [[{0}]] tables to edit")]
    Missing(&'static str),
}

/// The job's text as the next revision, with the plan carried out.
///
/// # Errors
///
/// [`EditError`] for text that is no job.
pub fn revised(text: &str, plan: &Plan) -> Result<String, EditError> {
    let mut doc: DocumentMut = text
        .parse()
        .map_err(|e: toml_edit::TomlError| EditError::Syntax(e.message().to_owned()))?;
    if let Some(item) = doc.get_mut("revision") {
        let next = match item.as_value() {
            Some(Value::Integer(n)) => Value::from(n.value() + 1),
            Some(v) => Value::from(next_revision(v.as_str().unwrap_or(""))),
            None => Value::from("B"),
        };
        replace(item, next);
    }
    for place in tables(&mut doc, "place")?.iter_mut() {
        if text_of(place, "id") == Some(plan.placed.as_str())
            && let Some(item) = place.get_mut("accessory")
        {
            replace(item, Value::from(plan.with.as_str()));
        }
    }
    let plates = tables(&mut doc, "plate")?;
    for plate in plates.iter_mut() {
        let id = text_of(plate, "id").unwrap_or("").to_owned();
        let Some(holes) = plate.get_mut("holes").and_then(Item::as_array_mut) else {
            continue;
        };
        let mine = format!("{}.", plan.placed);
        let taken = |v: &Value| -> bool {
            let name = v.as_str().or_else(|| {
                v.as_inline_table()
                    .and_then(|t| t.get("take"))
                    .and_then(Value::as_str)
            });
            name.is_some_and(|n| {
                n.starts_with(&mine) && !plan.kept.iter().any(|k| k.to_string() == n)
            })
        };
        // What was written for a mount of the same name is written again.
        let written: Vec<Value> = holes.iter().filter(|v| taken(v)).cloned().collect();
        let keeps = plan.added.iter().any(|(p, _)| *p == id);
        holes.retain(|v| !taken(v));
        if keeps {
            for (_, take) in plan.added.iter().filter(|(p, _)| *p == id) {
                push(holes, &written, take);
            }
        }
    }
    plates.retain(|p| {
        let id = p.get("id").and_then(Item::as_str).unwrap_or("");
        !plan.removed.iter().any(|r| r == id)
    });
    for spec in &plan.new_plates {
        plates.push(plate_table(spec));
    }
    Ok(doc.to_string())
}

/// The revision after this one: the next number, the next letter (Z is followed by AA).
#[must_use]
pub fn next_revision(revision: &str) -> String {
    if let Ok(n) = revision.parse::<u64>() {
        return (n + 1).to_string();
    }
    let mut letters: Vec<char> = revision.chars().collect();
    if letters.is_empty() || !letters.iter().all(char::is_ascii_uppercase) {
        return format!("{revision}-2");
    }
    for i in (0..letters.len()).rev() {
        if letters[i] == 'Z' {
            letters[i] = 'A';
        } else {
            letters[i] = char::from(letters[i] as u8 + 1);
            return letters.into_iter().collect();
        }
    }
    letters.insert(0, 'A');
    letters.into_iter().collect()
}

/// Puts a new value where one stood, its comment and spacing kept.
fn replace(item: &mut Item, mut new: Value) {
    if let Some(old) = item.as_value() {
        *new.decor_mut() = old.decor().clone();
    }
    *item = Item::Value(new);
}

fn tables<'d>(
    doc: &'d mut DocumentMut,
    key: &'static str,
) -> Result<&'d mut ArrayOfTables, EditError> {
    doc.get_mut(key)
        .and_then(Item::as_array_of_tables_mut)
        .ok_or(EditError::Missing(key))
}

fn text_of<'t>(table: &'t Table, key: &str) -> Option<&'t str> {
    table.get(key).and_then(Item::as_str)
}

/// Adds a take to a list of holes, spaced as its neighbours are.
fn push(holes: &mut Array, written: &[Value], take: &Take) {
    let name = take.target.to_string();
    let same = |v: &&Value| {
        v.as_str() == Some(name.as_str())
            || v.as_inline_table()
                .and_then(|t| t.get("take"))
                .and_then(Value::as_str)
                == Some(name.as_str())
    };
    let mut new = written
        .iter()
        .find(same)
        .cloned()
        .unwrap_or_else(|| Value::from(name.as_str()));
    if let Some(last) = holes.iter().last() {
        let decor = last.decor().clone();
        *new.decor_mut() = decor;
    }
    holes.push_formatted(new);
}

fn number(mm: f64) -> Value {
    // Six decimals: the grid positions are read on.
    let rounded = (mm * 1e6).round() * 1e-6;
    if rounded.fract() == 0.0 {
        Value::from(rounded as i64)
    } else {
        Value::from(rounded)
    }
}

fn plate_table(spec: &PlateSpec) -> Table {
    let mut t = Table::new();
    t.decor_mut().set_prefix("\n");
    t.insert("id", value(spec.id.as_str()));
    t.insert("title", value(spec.title.as_str()));
    if let Some(face) = face(spec) {
        t.insert("frame", value(face));
    }
    if let BackFace::At(mm) = spec.back {
        t.insert("back", Item::Value(number(mm)));
    }
    t.insert("stock", value(spec.stock.as_str()));
    let mut holes = Array::new();
    for take in &spec.takes {
        let mut v = Value::from(take.target.to_string());
        v.decor_mut().set_prefix("\n  ");
        holes.push_formatted(v);
    }
    holes.set_trailing("\n");
    holes.set_trailing_comma(true);
    t.insert("holes", Item::Value(Value::Array(holes)));
    t.insert("webs", value("hull"));
    let mut windows = ArrayOfTables::new();
    for w in &spec.windows {
        if let WindowKind::Circle { at, diameter_mm } = &w.kind {
            let mut table = Table::new();
            table.insert("kind", value("circle"));
            table.insert("id", value(w.id.as_str()));
            let mut point = Array::new();
            point.push(number(at.x));
            point.push(number(at.y));
            table.insert("at", Item::Value(Value::Array(point)));
            table.insert("diameter", Item::Value(number(*diameter_mm)));
            windows.push(table);
        }
    }
    if !windows.is_empty() {
        t.insert("window", Item::ArrayOfTables(windows));
    }
    t
}

/// The frame's word, or its origin and directions; none for the front, which is understood.
fn face(spec: &PlateSpec) -> Option<Value> {
    let f = spec.frame;
    match facing(f.normal) {
        Some(("front", named)) if named == f => None,
        Some((word, named)) if named == f => Some(Value::from(word)),
        _ => {
            let triple =
                |x: f64, y: f64, z: f64| Value::Array([x, y, z].into_iter().map(number).collect());
            let mut full = InlineTable::new();
            full.insert("origin", triple(f.origin.x, f.origin.y, f.origin.z));
            full.insert("normal", triple(f.normal.x, f.normal.y, f.normal.z));
            full.insert("x", triple(f.x.x, f.x.y, f.x.z));
            Some(Value::InlineTable(full))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn revisions_count_on_in_numbers_and_letters() {
        for (now, next) in [
            ("A", "B"),
            ("C", "D"),
            ("Z", "AA"),
            ("AZ", "BA"),
            ("3", "4"),
            ("x1", "x1-2"),
        ] {
            assert_eq!(next_revision(now), next);
        }
    }

    #[test]
    fn comments_and_spacing_outlive_the_edit() {
        let text = "# mine\nrevision = \"C\" # third\n\n[[place]]\nid = \"a\"\naccessory = \"old\" # why\n\n[[plate]]\nid = \"p\" # keep\nholes = [\"block.A\", \"a.x\"]\n";
        let plan = Plan {
            placed: "a".to_owned(),
            with: "new".to_owned(),
            held: Vec::new(),
            added: Vec::new(),
            removed: Vec::new(),
            kept: Vec::new(),
            new_plates: Vec::new(),
            broken: Vec::new(),
            failed_before: 0,
            tried: 0,
        };
        let out = revised(text, &plan).unwrap();
        assert_eq!(
            out,
            "# mine\nrevision = \"D\" # third\n\n[[place]]\nid = \"a\"\naccessory = \"new\" # why\n\n[[plate]]\nid = \"p\" # keep\nholes = [\"block.A\"]\n"
        );
    }
}

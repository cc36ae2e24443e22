//! JSON Schemas of parameter files, for editors: one for each kind, printed from its description.
//!
//! The dialect is JSON Schema 2020-12. A schema says everything that can be
//! said of a file alone; what needs another file (that `block.A1` exists) only
//! the program can judge.

mod page;

use serde_json::{Map, Value, json};
use toml::de::DeValue;

use crate::params::keys::{ID_PATTERN, LONGEST_TEXT};
use crate::params::spec::{FileKind, Key, Need, Range, Table, Type};
use crate::units::LENGTH_PATTERN;

pub use page::page;

/// The schema of a kind of file.
///
/// ```
/// use platewright::{params::keys, schema};
/// let job = schema::of(keys::kind("job").unwrap());
/// assert_eq!(job["properties"]["kind"]["const"], "job");
/// assert_eq!(job["additionalProperties"], false);
/// ```
#[must_use]
pub fn of(kind: &FileKind) -> Value {
    let mut defs = Map::new();
    let mut root = table(kind.table, Some(("kind", kind.name)), &mut defs);
    let head = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": format!("{} file of platewright", kind.name),
    });
    let mut out = match head {
        Value::Object(map) => map,
        _ => Map::new(),
    };
    out.append(&mut root);
    if !defs.is_empty() {
        out.insert("$defs".to_owned(), Value::Object(defs));
    }
    Value::Object(out)
}

/// An object's schema; `tag` is a further key with the one value it must have.
fn table(
    t: &Table,
    tag: Option<(&str, &str)>,
    defs: &mut Map<String, Value>,
) -> Map<String, Value> {
    let mut properties = Map::new();
    let mut required = Vec::new();
    if let Some((key, value)) = tag {
        properties.insert(
            key.to_owned(),
            json!({ "description": "what it is", "const": value }),
        );
        required.push(Value::from(key));
    }
    for key in t.keys {
        properties.insert(key.name.to_owned(), property(key, defs));
        if key.need == Need::Required {
            required.push(Value::from(key.name));
        }
    }
    let mut out = Map::new();
    out.insert("description".to_owned(), Value::from(t.doc));
    out.insert("type".to_owned(), Value::from("object"));
    out.insert("properties".to_owned(), Value::Object(properties));
    out.insert("required".to_owned(), Value::Array(required));
    out.insert("additionalProperties".to_owned(), Value::Bool(false));
    let groups = groups(t);
    if !groups.is_empty() {
        out.insert("allOf".to_owned(), Value::Array(groups));
    }
    out
}

/// Which keys exclude or need each other.
fn groups(t: &Table) -> Vec<Value> {
    let exactly_one = t.one_of.iter().map(|group| {
        let each: Vec<Value> = group.iter().map(|k| json!({ "required": [k] })).collect();
        json!({ "oneOf": each })
    });
    let at_most_one = t.not_both.iter().flat_map(|group| {
        group.iter().enumerate().flat_map(|(i, a)| {
            group
                .iter()
                .skip(i + 1)
                .map(move |b| json!({ "not": { "required": [a, b] } }))
        })
    });
    exactly_one.chain(at_most_one).collect()
}

/// The schema of a key's value, with what a person should know about it.
fn property(key: &Key, defs: &mut Map<String, Value>) -> Value {
    let mut out = Map::new();
    out.insert("description".to_owned(), Value::from(key.doc));
    if let Need::Default(text) = key.need {
        out.insert("default".to_owned(), from_toml(text));
    }
    if !key.example.is_empty() {
        out.insert("examples".to_owned(), json!([from_toml(key.example)]));
    }
    if let Value::Object(mut t) = of_type(&key.takes, defs) {
        out.append(&mut t);
    }
    Value::Object(out)
}

fn of_type(t: &Type, defs: &mut Map<String, Value>) -> Value {
    match t {
        Type::Text { filled: true } => {
            json!({ "type": "string", "pattern": "\\S", "maxLength": LONGEST_TEXT })
        }
        Type::Text { filled: false } => json!({ "type": "string", "maxLength": LONGEST_TEXT }),
        Type::Id => json!({ "type": "string", "pattern": format!("^{ID_PATTERN}$") }),
        Type::File(_) => {
            json!({ "type": "string", "pattern": "^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$" })
        }
        Type::Reference => json!({
            "type": "string",
            "pattern": format!("^{ID_PATTERN}([.]{ID_PATTERN})?$"),
        }),
        Type::Date => json!({
            "type": "string",
            "format": "date",
            "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$",
        }),
        Type::Flag => json!({ "type": "boolean" }),
        Type::Choice(words) => {
            let each: Vec<Value> = words
                .iter()
                .map(|(word, doc)| json!({ "const": word, "description": doc }))
                .collect();
            json!({ "oneOf": each })
        }
        Type::Designation(standard) => json!({
            "type": "string",
            "pattern": "\\S",
            "maxLength": LONGEST_TEXT,
            "examples": [standard.example()],
        }),
        Type::Length(range) => json!({
            "anyOf": [number(*range), { "type": "string", "pattern": LENGTH_PATTERN }],
        }),
        Type::Number(range) => number(*range),
        Type::Count(least, most) => {
            json!({ "type": "integer", "minimum": least, "maximum": most })
        }
        Type::CountOf(choices) => json!({ "enum": choices }),
        Type::List { of, least, most } => json!({
            "type": "array",
            "items": of_type(of, defs),
            "minItems": least,
            "maxItems": most,
        }),
        Type::Table(t) => reference(t, None, defs),
        Type::Tagged(tag, tables) => {
            let each: Vec<Value> = tables
                .iter()
                .map(|t| reference(t, Some((tag, t.name)), defs))
                .collect();
            json!({ "oneOf": each })
        }
        Type::Marked(tables) => {
            let each: Vec<Value> = tables.iter().map(|t| reference(t, None, defs)).collect();
            json!({ "oneOf": each })
        }
        Type::Map(of) => json!({
            "type": "object",
            "propertyNames": { "pattern": format!("^{ID_PATTERN}$") },
            "additionalProperties": of_type(of, defs),
        }),
        Type::Either(types) => {
            let each: Vec<Value> = types.iter().map(|t| of_type(t, defs)).collect();
            json!({ "anyOf": each })
        }
    }
}

fn number(r: Range) -> Value {
    let least = if r.above {
        "exclusiveMinimum"
    } else {
        "minimum"
    };
    json!({ "type": "number", least: r.least, "maximum": r.most })
}

/// A reference to a table's own schema, which is added to `defs` the first time.
fn reference(t: &Table, tag: Option<(&str, &str)>, defs: &mut Map<String, Value>) -> Value {
    let name = match tag {
        Some((tag, _)) => format!("{tag}-{}", t.name),
        None => t.name.to_owned(),
    }
    .replace(' ', "-");
    let target = format!("#/$defs/{name}");
    if !defs.contains_key(&name) {
        // Holds the place, so that the schemas stand in the order of the file.
        defs.insert(name.clone(), Value::Null);
        let schema = table(t, tag, defs);
        defs.insert(name, Value::Object(schema));
    }
    json!({ "$ref": target })
}

/// A TOML value of a description as JSON.
fn from_toml(text: &str) -> Value {
    DeValue::parse(text).map_or(Value::Null, |v| to_json(v.get_ref()))
}

fn to_json(v: &DeValue<'_>) -> Value {
    match v {
        DeValue::String(s) => Value::from(s.as_ref()),
        DeValue::Integer(i) => i.as_str().parse::<i64>().map_or(Value::Null, Value::from),
        DeValue::Float(f) => f.as_str().parse::<f64>().map_or(Value::Null, Value::from),
        DeValue::Boolean(b) => Value::from(*b),
        DeValue::Datetime(d) => Value::from(d.to_string()),
        DeValue::Array(a) => a.iter().map(|v| to_json(v.get_ref())).collect(),
        DeValue::Table(t) => Value::Object(
            t.iter()
                .map(|(k, v)| (k.get_ref().to_string(), to_json(v.get_ref())))
                .collect(),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::params::keys::KINDS;
    use std::collections::BTreeMap;

    /// Visits every table of a type.
    fn tables(t: &Type, visit: &mut dyn FnMut(&'static Table)) {
        match t {
            Type::List { of, .. } | Type::Map(of) => tables(of, visit),
            Type::Table(t) => walk(t, visit),
            Type::Tagged(_, ts) | Type::Marked(ts) => ts.iter().for_each(|t| walk(t, visit)),
            Type::Either(ts) => ts.iter().for_each(|t| tables(t, visit)),
            _ => {}
        }
    }

    fn walk(t: &'static Table, visit: &mut dyn FnMut(&'static Table)) {
        visit(t);
        t.keys.iter().for_each(|k| tables(&k.takes, visit));
    }

    #[test]
    fn tables_of_a_kind_have_names_and_keys_of_their_own() {
        for kind in KINDS {
            let mut seen: BTreeMap<&str, &Table> = BTreeMap::new();
            walk(kind.table, &mut |t| {
                if let Some(other) = seen.insert(t.name, t) {
                    assert!(
                        std::ptr::eq(other, t),
                        "{}: two tables `{}`",
                        kind.name,
                        t.name
                    );
                }
                let keys: std::collections::BTreeSet<_> = t.keys.iter().map(|k| k.name).collect();
                assert_eq!(keys.len(), t.keys.len(), "{}", t.name);
                for k in t.keys {
                    let kebab = |c: char| c.is_ascii_lowercase() || c == '-';
                    assert!(k.name.chars().all(kebab), "{}", k.name);
                    assert!(!k.doc.is_empty() && !k.doc.ends_with('.'), "{}", k.doc);
                    assert_ne!(k.name, "kind", "taken by the file and by tagged tables");
                }
                for group in t.one_of.iter().chain(t.not_both) {
                    for k in *group {
                        assert!(t.key(k).is_some_and(|k| k.need == Need::Optional), "{k}");
                    }
                }
            });
        }
    }

    #[test]
    fn the_block_schema_is_as_kept() {
        let schema = of(crate::params::keys::kind("block").unwrap());
        insta::assert_snapshot!(serde_json::to_string_pretty(&schema).unwrap());
    }
}

//! Multi-rib belt sections and the lengths they are usually stocked in.
//!
//! `belt_sections.csv` holds one value a row, each with its source and how
//! sure it is; `belt_lengths.csv` holds effective lengths as the trade steps
//! them. The lengths are common practice without a source: a shop lists what
//! its own supplier keeps and passes that instead.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::Serialize;

const SECTIONS_CSV: &str = include_str!("belt_sections.csv");
const LENGTHS_CSV: &str = include_str!("belt_lengths.csv");

/// A multi-rib belt section: what the drive needs to know of one profile.
///
/// Values of the standard sections come from ISO 9982 (all five) and
/// ISO 9981 / SAE J1459 / SAE J1596 (PK); [`rows`] tells the source of each.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BeltSection {
    /// Designation, such as `PK`.
    pub name: String,
    /// Distance from rib to rib, mm; greater than 0.
    pub rib_pitch_mm: f64,
    /// Distance from the effective line out to the pitch line, mm; used for speed ratios only.
    pub effective_line_differential_mm: f64,
    /// Height of the belt over ribs and back, mm.
    pub height_mm: f64,
    /// Distance from the effective line out to the belt's back, mm; at most `height_mm`.
    pub back_offset_mm: f64,
    /// Mass of one rib's width, kg/m.
    pub mass_per_rib_kg_m: f64,
    /// Least effective diameter of a grooved pulley, mm.
    pub least_effective_diameter_mm: f64,
    /// Least diameter of a flat pulley on the belt's back, mm.
    pub least_back_diameter_mm: f64,
    /// Greatest belt speed, m/s.
    pub greatest_speed_m_s: f64,
    /// Diameter of the checking ball, mm.
    pub ball_diameter_mm: f64,
    /// Diameter over balls less effective diameter, mm.
    pub balls_less_effective_mm: f64,
}

impl BeltSection {
    /// The standard section of that name (`PH`, `PJ`, `PK`, `PL`, `PM`; letter case does not matter).
    #[must_use]
    pub fn named(name: &str) -> Option<&'static Self> {
        SECTIONS.iter().find(|s| s.name.eq_ignore_ascii_case(name))
    }

    /// Depth of the rib tips below the effective line, mm.
    #[must_use]
    pub fn rib_depth_mm(&self) -> f64 {
        self.height_mm - self.back_offset_mm
    }

    /// Width of a belt of `ribs` ribs, mm: ribs × pitch (ISO 9981).
    #[must_use]
    pub fn width_mm(&self, ribs: u32) -> f64 {
        f64::from(ribs) * self.rib_pitch_mm
    }

    /// Mass of a belt of `ribs` ribs, kg/m.
    #[must_use]
    pub fn mass_kg_m(&self, ribs: u32) -> f64 {
        f64::from(ribs) * self.mass_per_rib_kg_m
    }

    /// Effective diameter of a pulley from its diameter measured over balls, mm.
    #[must_use]
    pub fn effective_from_balls_mm(&self, over_balls_mm: f64) -> f64 {
        over_balls_mm - self.balls_less_effective_mm
    }
}

/// One value of a section with where it comes from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SectionRow {
    /// Section it belongs to, such as `PK`.
    pub section: String,
    /// Field of [`BeltSection`] it fills.
    pub quantity: String,
    /// The value, in `unit`.
    pub value: f64,
    /// Unit of the value.
    pub unit: String,
    /// Standard or practice it is taken from.
    pub source: String,
    /// `read in a quotation`, `from memory` or `common practice, no source`.
    pub confidence: String,
}

static ROWS: LazyLock<Vec<SectionRow>> = LazyLock::new(|| {
    fields(SECTIONS_CSV)
        .map(|f| SectionRow {
            section: f[0].clone(),
            quantity: f[1].clone(),
            value: number(&f[2]),
            unit: f[3].clone(),
            source: f[4].clone(),
            confidence: f[5].clone(),
        })
        .collect()
});

static SECTIONS: LazyLock<Vec<BeltSection>> = LazyLock::new(|| {
    let mut by_name: BTreeMap<&str, BTreeMap<&str, f64>> = BTreeMap::new();
    for row in ROWS.iter() {
        by_name
            .entry(&row.section)
            .or_default()
            .insert(&row.quantity, row.value);
    }
    by_name
        .into_iter()
        .map(|(name, values)| {
            // A missing value would poison every result with NaN; the tests
            // below prove that the compiled table has all of them.
            let value = |quantity: &str| values.get(quantity).copied().unwrap_or(f64::NAN);
            BeltSection {
                name: name.to_owned(),
                rib_pitch_mm: value("rib_pitch_mm"),
                effective_line_differential_mm: value("effective_line_differential_mm"),
                height_mm: value("height_mm"),
                back_offset_mm: value("back_offset_mm"),
                mass_per_rib_kg_m: value("mass_per_rib_kg_m"),
                least_effective_diameter_mm: value("least_effective_diameter_mm"),
                least_back_diameter_mm: value("least_back_diameter_mm"),
                greatest_speed_m_s: value("greatest_speed_m_s"),
                ball_diameter_mm: value("ball_diameter_mm"),
                balls_less_effective_mm: value("balls_less_effective_mm"),
            }
        })
        .collect()
});

static LENGTHS: LazyLock<BTreeMap<String, Vec<f64>>> = LazyLock::new(|| {
    let mut lengths: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for f in fields(LENGTHS_CSV) {
        lengths.entry(f[0].clone()).or_default().push(number(&f[1]));
    }
    for list in lengths.values_mut() {
        list.sort_by(f64::total_cmp);
    }
    lengths
});

/// Records of a compiled table, each padded to six fields so that indexing holds.
fn fields(table: &'static str) -> impl Iterator<Item = [String; 6]> {
    csv::Reader::from_reader(table.as_bytes())
        .into_records()
        .filter_map(Result::ok)
        .map(|record| std::array::from_fn(|i| record.get(i).unwrap_or_default().to_owned()))
        .collect::<Vec<_>>()
        .into_iter()
}

fn number(text: &str) -> f64 {
    text.parse().unwrap_or(f64::NAN)
}

/// Every value of every standard section with its source, in table order.
#[must_use]
pub fn rows() -> &'static [SectionRow] {
    &ROWS
}

/// The standard sections, by name.
#[must_use]
pub fn sections() -> &'static [BeltSection] {
    &SECTIONS
}

/// Effective lengths the trade usually stocks of a section, mm, ascending; empty for an unknown section.
///
/// Source: common practice, no source.
#[must_use]
pub fn stocked_lengths_mm(section: &str) -> &'static [f64] {
    LENGTHS
        .get(&section.to_ascii_uppercase())
        .map_or(&[], Vec::as_slice)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_section_has_every_value_positive() {
        assert_eq!(sections().len(), 5);
        for s in sections() {
            let json = serde_json::to_value(s).unwrap();
            for (key, value) in json.as_object().unwrap() {
                if key != "name" {
                    let value = value.as_f64().unwrap_or(f64::NAN);
                    assert!(value > 0.0, "{} {key} is {value}", s.name);
                }
            }
            assert!(s.effective_line_differential_mm < s.back_offset_mm);
            assert!(s.back_offset_mm < s.height_mm);
        }
    }

    #[test]
    fn every_row_of_the_file_is_read_and_sourced() {
        assert_eq!(rows().len(), SECTIONS_CSV.lines().count() - 1);
        for row in rows() {
            assert!(row.value.is_finite(), "{row:?}");
            assert!(
                !row.source.is_empty() && !row.confidence.is_empty(),
                "{row:?}"
            );
        }
    }

    #[test]
    fn pk_over_balls_is_effective_plus_0_99() {
        let pk = BeltSection::named("pk").unwrap();
        assert!((pk.effective_from_balls_mm(150.99) - 150.0).abs() < 1e-12);
        assert!((pk.width_mm(6) - 21.36).abs() < 1e-12);
    }

    #[test]
    fn stocked_lengths_ascend_without_repeats() {
        for s in sections() {
            let lengths = stocked_lengths_mm(&s.name);
            assert!(lengths.len() > 20, "{}", s.name);
            assert!(lengths.windows(2).all(|w| w[0] < w[1]), "{}", s.name);
        }
        assert!(stocked_lengths_mm("XX").is_empty());
    }
}

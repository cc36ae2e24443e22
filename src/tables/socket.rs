//! Outside diameters of hand sockets: the room a wrench needs round a head.

use serde::{Deserialize, Serialize};

use super::table::{Confidence, Table, UnknownName, increasing, positive, row};

/// Free width left round a socket for the access cylinder, mm on the radius (common practice, no source).
pub const ACCESS_ROOM_MM: f64 = 1.0;

/// The square drive of a socket.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
pub enum Drive {
    /// 10 mm (3/8 in).
    #[serde(rename = "10")]
    Ten,
    /// 12.5 mm (1/2 in).
    #[default]
    #[serde(rename = "12.5")]
    TwelveAndHalf,
}

/// A socket of one size across flats.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Socket {
    /// Across flats, mm.
    pub across_flats_mm: f64,
    /// Outside diameter at the nut end, 10 mm drive, mm.
    pub outer_10_drive_mm: f64,
    /// Outside diameter at the nut end, 12.5 mm drive, mm.
    pub outer_12_5_drive_mm: f64,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(Socket, "socket", "sockets.csv", |r|
name: format!("{}", r.across_flats_mm),
check: positive(&[("across_flats_mm", r.across_flats_mm)])
    .and_then(|()| increasing(&[
        ("across_flats_mm", r.across_flats_mm),
        ("outer_10_drive_mm", r.outer_10_drive_mm),
    ]))
    .and_then(|()| increasing(&[
        ("across_flats_mm", r.across_flats_mm),
        ("outer_12_5_drive_mm", r.outer_12_5_drive_mm),
    ])));

/// Sockets by width across flats.
pub type Sockets = Table<Socket>;

impl Sockets {
    /// Radius of the straight access that a socket of `across_flats_mm` needs, mm: half its
    /// outside diameter and [`ACCESS_ROOM_MM`]. Impact sockets are larger.
    ///
    /// # Errors
    ///
    /// [`UnknownName`] for a width without a row.
    pub fn access_radius_mm(&self, across_flats_mm: f64, drive: Drive) -> Result<f64, UnknownName> {
        let s = self.get(&format!("{across_flats_mm}"))?;
        Ok(0.5 * s.outer_mm(drive) + ACCESS_ROOM_MM)
    }
}

impl Socket {
    /// Outside diameter for a drive, mm.
    #[must_use]
    pub const fn outer_mm(&self, drive: Drive) -> f64 {
        match drive {
            Drive::Ten => self.outer_10_drive_mm,
            Drive::TwelveAndHalf => self.outer_12_5_drive_mm,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn access_is_half_the_socket_and_a_millimetre() {
        let r = Sockets::standard()
            .access_radius_mm(16.0, Drive::TwelveAndHalf)
            .unwrap();
        assert!((r - 12.5).abs() < 1e-12);
    }
}

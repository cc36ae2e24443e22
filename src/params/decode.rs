//! Bytes of a file to its text, or why it has none.

use crate::diag::{Code, Diag, FileId, Sink, Sources, Spot};

/// Longest parameter file, bytes.
///
/// A job with forty plates is about 20 kB (measured on the demo's style of
/// writing); one mebibyte leaves fifty times that.
pub const MOST_BYTES: usize = 1 << 20;

/// Registers the text of a file, or says why it has none.
pub(super) fn decode<'s>(
    shown: &str,
    bytes: &[u8],
    sources: &'s mut Sources,
    sink: &mut Sink,
) -> Option<(FileId, &'s str)> {
    if bytes.len() > MOST_BYTES {
        let file = sources.add(shown, "");
        sink.push(
            Diag::new(
                Code::TooLong,
                format!(
                    "the file is {} bytes long, at most {MOST_BYTES} are read",
                    bytes.len()
                ),
            )
            .at(Spot::new(file, 0..0))
            .help("check that it is a parameter file"),
        );
        return None;
    }
    let bad_at = match std::str::from_utf8(bytes) {
        Ok(text) => text.find('\0'),
        Err(e) => Some(e.valid_up_to()),
    };
    if let Some(at) = bad_at {
        let good = bytes
            .get(..at)
            .map(String::from_utf8_lossy)
            .unwrap_or_default();
        let file = sources.add(shown, format!("{good}\u{fffd}"));
        let utf16 = bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]);
        sink.push(
            Diag::new(Code::NotText, "the file is not text in UTF-8")
                .labelled(
                    Spot::new(file, at..at + '\u{fffd}'.len_utf8()),
                    "first byte that is not",
                )
                .help(if utf16 {
                    "it is text in UTF-16: save it as UTF-8"
                } else {
                    "save it as UTF-8, or name the right file"
                }),
        );
        return None;
    }
    let text = String::from_utf8_lossy(bytes);
    let blank = text
        .trim_start_matches('\u{feff}')
        .lines()
        .all(|l| l.trim().is_empty() || l.trim_start().starts_with('#'));
    let file = sources.add(shown, text);
    if blank {
        sink.push(
            Diag::new(Code::Empty, "the file is empty")
                .at(Spot::new(file, 0..0))
                .help("`platewright new` starts a job with all its files"),
        );
        return None;
    }
    sources.text(file).map(|text| (file, text))
}

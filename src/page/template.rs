//! Templates with `{{name}}` where a piece goes.

/// The template with every `{{name}}` replaced; pieces are not looked into again.
///
/// A name without a piece leaves nothing behind.
pub(super) fn fill(template: &str, pieces: &[(&str, &str)]) -> String {
    let room: usize = pieces.iter().map(|(_, p)| p.len()).sum();
    let mut out = String::with_capacity(template.len() + room);
    let mut rest = template;
    while let Some((before, after)) = rest.split_once("{{") {
        out.push_str(before);
        let Some((name, after)) = after.split_once("}}") else {
            out.push_str("{{");
            rest = after;
            continue;
        };
        if let Some((_, piece)) = pieces.iter().find(|(n, _)| *n == name) {
            out.push_str(piece);
        }
        rest = after;
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_piece_that_looks_like_a_name_stays_as_it_is() {
        let out = fill("<{{a}}|{{b}}>", &[("a", "{{b}}"), ("b", "x")]);
        assert_eq!(out, "<{{b}}|x>");
    }

    #[test]
    fn braces_that_do_not_close_stay() {
        assert_eq!(fill("a {{ b", &[]), "a {{ b");
    }
}

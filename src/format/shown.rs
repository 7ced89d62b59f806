//! Names out of foreign files as messages show them: in one line, no longer than fits, nothing that drives a terminal.

/// Most faults of a kind that are told one by one; of the others it is told how many there are.
pub const MOST_TOLD: usize = 20;

/// Most letters of a name that are shown.
const MOST: usize = 48;

/// A name, shortened, with letters escaped that control a terminal or the direction of writing.
pub fn shown(name: &str) -> String {
    let mut out = String::new();
    for (i, c) in name.chars().enumerate() {
        if i == MOST {
            out.push('…');
            break;
        }
        if is_wild(c) {
            out.extend(c.escape_unicode());
        } else {
            out.push(c);
        }
    }
    out
}

/// Whether a letter would drive a terminal instead of being seen: control, direction of writing, no width.
pub fn is_wild(c: char) -> bool {
    let unseen = matches!(c, '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}');
    c.is_control() || unseen
}

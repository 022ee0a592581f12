//! A calendar file, iCalendar (RFC 5545): lines folded, text escaped, every component private and with an identity of its own.

use chrono::NaiveDateTime;

/// A calendar while it is written.
pub struct Calendar {
    text: String,
    stamp: String,
}

impl Calendar {
    /// A calendar of something, such as `dawn counts`. `made`: when it was made, universal time.
    pub fn new(of: &str, made: NaiveDateTime) -> Calendar {
        let mut out = Calendar { text: String::new(), stamp: made.format("%Y%m%dT%H%M%SZ").to_string() };
        out.line("BEGIN:VCALENDAR");
        out.line("VERSION:2.0");
        out.line(&format!("PRODID:-//greyhen//{of}//EN"));
        out.line("CALSCALE:GREGORIAN");
        out
    }

    fn line(&mut self, line: &str) {
        fold(&mut self.text, line);
    }

    /// Begin a component, such as `VEVENT`, with its identity.
    pub fn begin(&mut self, component: &str, identity: &str) {
        self.line(&format!("BEGIN:{component}"));
        self.line(&format!("UID:{identity}"));
        self.line(&format!("DTSTAMP:{}", self.stamp.clone()));
    }

    /// A property whose value is no text, such as a date.
    pub fn plain(&mut self, property: &str, value: &str) {
        self.line(&format!("{property}:{value}"));
    }

    /// A property whose value is text.
    pub fn text(&mut self, property: &str, value: &str) {
        self.line(&format!("{property}:{}", escape(value)));
    }

    /// End a component.
    pub fn end(&mut self, component: &str) {
        self.line("CLASS:PRIVATE");
        self.line(&format!("END:{component}"));
    }

    /// The file.
    pub fn whole(mut self) -> String {
        self.line("END:VCALENDAR");
        self.text
    }
}

/// Section 3.3.11: text. Control characters, which it does not allow, are left out, and so are those that turn the line.
fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '\\' | ';' | ',' => out.extend(['\\', letter]),
            '\n' => out.push_str("\\n"),
            _ if (letter.is_control() && letter != '\t') || crate::words::turns(letter) => {}
            _ => out.push(letter),
        }
    }
    out
}

/// Section 3.1: lines of at most 75 octets, ended by CRLF; a longer one goes on after a space. No letter is cut.
fn fold(text: &mut String, line: &str) {
    let mut octets = 0;
    for letter in line.chars() {
        if octets + letter.len_utf8() > 75 {
            text.push_str("\r\n ");
            octets = 1;
        }
        text.push(letter);
        octets += letter.len_utf8();
    }
    text.push_str("\r\n");
}

/// A name in the form of a UUID (RFC 9562, version 8; section 3.8.4.7 wants it unique the world over, RFC 7986 advises this form),
/// from a Fowler-Noll-Vo 1a hash of 128 bits of the parts (constants from memory, checked against the published vector).
pub fn identity(parts: &[&str]) -> String {
    let hash = fnv1a(parts.join("\u{1f}").as_bytes());
    let hash = hash & !(0xf << 76) & !(0x3 << 62) | (0x8 << 76) | (0x2 << 62);
    let hex = format!("{hash:032x}");
    [&hex[..8], &hex[8..12], &hex[12..16], &hex[16..20], &hex[20..]].join("-")
}

fn fnv1a(bytes: &[u8]) -> u128 {
    bytes.iter().fold(0x6c62_272e_07bb_0142_62b8_2175_6295_c58d, |hash: u128, byte| (hash ^ u128::from(*byte)).wrapping_mul((1 << 88) + 0x13b))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Offset basis for the empty text and the hash of "a" (Noll's test vectors, draft-eastlake-fnv; from memory).
    #[test]
    fn the_hash_gives_the_published_vectors() {
        assert_eq!(format!("{:032x}", fnv1a(b"")), "6c62272e07bb014262b821756295c58d");
        assert_eq!(format!("{:032x}", fnv1a(b"a")), "d228cb696f1a8caf78912b704e4a8964");
    }

    /// RFC 5545 section 3.3.11.
    #[test]
    fn text_is_escaped() {
        assert_eq!(escape("a\\b;c,d\ne\r\u{7}:\""), "a\\\\b\\;c\\,d\\ne:\"");
    }

    /// RFC 5545 section 3.1.
    #[test]
    fn lines_are_folded_between_letters_at_75_octets() {
        let folded = |line: &str| {
            let mut text = String::new();
            fold(&mut text, line);
            text
        };
        assert_eq!(folded(&"x".repeat(75)), "x".repeat(75) + "\r\n");
        assert_eq!(folded(&"x".repeat(76)), "x".repeat(75) + "\r\n x\r\n");
        // Two octets a letter: 37 fit, and after the space 37 again.
        let wide = folded(&"é".repeat(80));
        let lines: Vec<&str> = wide.split("\r\n").collect();
        assert_eq!(lines.iter().map(|line| line.len()).collect::<Vec<_>>(), [74, 75, 13, 0]);
        assert_eq!(wide.replace("\r\n ", "").trim_end(), "é".repeat(80));
    }

    /// RFC 9562 section 5.8: version 8 and the variant stand in their places.
    #[test]
    fn an_identity_is_a_uuid() {
        let id = identity(&["holding", "2027-04-03", "Ann"]);
        assert_eq!(id.split('-').map(str::len).collect::<Vec<_>>(), [8, 4, 4, 4, 12]);
        assert!(id.as_bytes()[14] == b'8' && b"89ab".contains(&id.as_bytes()[19]), "{id}");
        assert_ne!(id, identity(&["holding2027-04-03", "", "Ann"]));
    }
}

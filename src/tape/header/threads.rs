use std::ops::Range;

use super::fields::{length, starts};

/// A thread noted after the fixed fields: `#RRGGBB,description,number` (weak secondary text on
/// the format; confirmed by files only).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ThreadEntry {
    /// Six hexadecimal digits with a number sign before them.
    pub colour: String,
    /// Bytes from a stranger, as is `number`: show them through [`crate::tape::inert`] only.
    pub description: Vec<u8>,
    /// Catalogue number.
    pub number: Vec<u8>,
}

/// Thread entries in the order of the stops.
pub fn entries(bytes: &[u8]) -> Vec<ThreadEntry> {
    lines(bytes).into_iter().filter_map(|line| entry(&bytes[line])).collect()
}

/// Brings the entries into a new order of the stops; `order` gives the old stop of each new one.
/// Entries beyond the stops stay behind the others. Where no entry is known for a stop, the list
/// ends: a missing note is better than one that names the wrong thread.
pub fn permute(bytes: &mut Vec<u8>, order: &[Option<u32>]) {
    let lines = lines(bytes);
    let kept = order.iter().enumerate().all(|(new, old)| *old == u32::try_from(new).ok());
    let (Some(first), Some(last)) = (lines.first(), lines.last()) else { return };
    if kept {
        return;
    }
    let block = first.start..last.end;
    let known = |old: &Option<u32>| lines.get(usize::try_from((*old)?).ok()?).cloned();
    let mut new: Vec<Range<usize>> = order.iter().map_while(known).collect();
    if new.len() == order.len() {
        let stops = order.iter().flatten().max().map_or(0, |stop| *stop as usize + 1);
        new.extend(lines.iter().skip(stops).cloned());
    }
    let text: Vec<u8> = new.into_iter().flat_map(|line| bytes[line].to_vec()).collect();
    replace(bytes, block, text);
}

/// Replaces a block; what it grows or shrinks by comes from or goes to the padding at the end.
/// Without room there, the list of entries is cut off behind the last whole entry that fits.
fn replace(bytes: &mut Vec<u8>, block: Range<usize>, mut text: Vec<u8>) {
    let total = bytes.len();
    let padding = bytes.last().copied().filter(|byte| matches!(byte, 0 | b' '));
    let free = padding.map_or(0, |pad| bytes.iter().rev().take_while(|byte| **byte == pad).count());
    while text.len() > block.len() + free {
        let body = &text[..text.len() - 1];
        text.truncate(body.iter().rposition(|byte| *byte == b'\r').map_or(0, |at| at + 1));
    }
    bytes.splice(block, text);
    bytes.resize(total, padding.unwrap_or(b' '));
}

/// The neighbouring lines that are thread entries, each with its carriage return.
fn lines(bytes: &[u8]) -> Vec<Range<usize>> {
    let mut found: Vec<Range<usize>> = Vec::new();
    for start in starts(bytes) {
        let end = start + length(&bytes[start..]);
        let follows = found.last().is_none_or(|last| last.end == start);
        if bytes.get(end) == Some(&b'\r') && follows && entry(&bytes[start..end]).is_some() {
            found.push(start..end + 1);
        }
    }
    found
}

/// Reads one line, with or without a two-character tag before the number sign.
fn entry(line: &[u8]) -> Option<ThreadEntry> {
    let line = line.strip_suffix(b"\r").unwrap_or(line);
    let line = match line {
        [_, _, b':', rest @ ..] => rest,
        _ => line,
    };
    let mut parts = line.splitn(3, |byte| *byte == b',');
    let (colour, description) = (parts.next()?, parts.next()?);
    let digits = colour.strip_prefix(b"#")?;
    let valid = digits.len() == 6 && digits.iter().all(u8::is_ascii_hexdigit);
    valid.then(|| ThreadEntry {
        colour: String::from_utf8_lossy(colour).into_owned(),
        description: description.to_vec(),
        number: parts.next().unwrap_or_default().to_vec(),
    })
}

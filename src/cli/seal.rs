//! A last line by which a picture is known again as ours, as long as nobody has changed it.

use std::fs;
use std::path::Path;

use super::show;
use super::targets::is_there;
use crate::report::sha256_hex;

const BEFORE: &str = "<!-- crownmend survey, sha256 ";
const AFTER: &str = " -->\n";

/// The picture with the hash of all of it in a comment at the end.
pub fn sealed(svg: &str) -> String {
    format!("{svg}{BEFORE}{}{AFTER}", sha256_hex(svg.as_bytes()))
}

fn is_sealed(bytes: &[u8]) -> bool {
    let text = std::str::from_utf8(bytes).ok();
    let parts = text.and_then(|text| text.strip_suffix(AFTER)?.rsplit_once(BEFORE));
    parts.is_some_and(|(svg, hash)| hash == sha256_hex(svg.as_bytes()))
}

/// May a picture be written here? An older one is replaced only if its seal is whole. The error is
/// a whole message.
pub fn check(path: &Path, force: bool) -> Result<(), String> {
    if path.is_dir() {
        return Err(format!("{}: a folder is in the way; move it away", show(path)));
    }
    let is_ours = || fs::read(path).is_ok_and(|old| is_sealed(&old));
    if force || !is_there(path) || is_ours() {
        return Ok(());
    }
    Err(format!(
        "{}: exists, and is not ours or was changed since; move it away or use --force",
        show(path)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_seal_holds_until_a_byte_is_changed() {
        let whole = sealed("<svg/>\n");
        assert!(is_sealed(whole.as_bytes()));
        assert!(is_sealed(sealed(&whole).as_bytes()));
        for index in 0..whole.len() {
            let mut changed = whole.clone().into_bytes();
            changed[index] ^= 1;
            assert!(!is_sealed(&changed), "{index}");
        }
        assert!(!is_sealed(b"<svg/>\n") && !is_sealed(b"") && !is_sealed(&[0xff]));
        assert!(!is_sealed(format!("{whole}\n").as_bytes()));
    }
}

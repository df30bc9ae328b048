//! Addresses of documents and names of files. A file's name is its path, as the disk has it; of anything else the address
//! itself is the name.

use lsp_types::Uri;
use std::str::FromStr;

/// The name of the file that an address leads to.
pub(super) fn name(uri: &str) -> String {
    let Some(path) = uri.strip_prefix("file://") else { return uri.to_owned() };
    // A host before the path is left alone: only this machine's files are read.
    let path = decoded(path.strip_prefix("localhost").unwrap_or(path));
    let is_drive = path.as_bytes().get(2) == Some(&b':') && path.starts_with('/');
    if is_drive { path.get(1..).unwrap_or("").to_owned() } else { path }
}

/// The address of a file; `None` of what is no whole path: a built-in program has none.
pub(super) fn address(name: &str) -> Option<Uri> {
    let is_drive = name.as_bytes().get(1) == Some(&b':');
    let path = if is_drive { format!("/{}", name.replace('\\', "/")) } else { name.to_owned() };
    if !path.starts_with('/') {
        return Uri::from_str(name).ok().filter(|uri| uri.scheme().is_some());
    }
    let kept = |byte: u8| byte.is_ascii_alphanumeric() || b"-._~/".contains(&byte);
    let encoded: String = path
        .bytes()
        .map(|byte| if kept(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") })
        .collect();
    Uri::from_str(&format!("file://{encoded}")).ok()
}

/// Bytes written as `%20` and the like brought back; what is no such byte stays.
fn decoded(text: &str) -> String {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.as_bytes();
    while let Some((first, after)) = rest.split_first() {
        let written = after.get(..2).filter(|_| *first == b'%').and_then(|two| std::str::from_utf8(two).ok());
        match written.and_then(|two| u8::from_str_radix(two, 16).ok()) {
            Some(byte) => {
                bytes.push(byte);
                rest = after.get(2..).unwrap_or_default();
            }
            None => {
                bytes.push(*first);
                rest = after;
            }
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

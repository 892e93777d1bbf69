//! The form of a key: `obv_`, 43 base-62 characters of secret, `_`, 6 base-62 characters of CRC-32.
//!
//! The check characters let a program tell a mistyped key from an unknown one without asking.

use obvert_proto::project::v1::ApiKey;
use sha2::{Digest, Sha256};
use subtle::ConstantTimeEq;

const PREFIX: &str = "obv_";
const SECRET_LENGTH: usize = 43;
const CHECK_LENGTH: usize = 6;
const DIGITS: &[u8; 62] = b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz";

/// Why a text is no key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KeyError {
    /// It does not have the form of a key.
    Form,
    /// Its check characters do not fit: it was mistyped or cut short.
    Check,
}

/// A key made from 32 random bytes.
pub fn fresh_key(random: [u8; 32]) -> String {
    let secret = base62(&random, SECRET_LENGTH);
    let check = base62(&crc32(secret.as_bytes()).to_be_bytes(), CHECK_LENGTH);
    format!("{PREFIX}{secret}_{check}")
}

/// SHA-256 of a well-formed key: what is kept and looked up.
///
/// # Errors
///
/// [`KeyError`] when the text is no key or was mistyped.
pub fn digest_of(key: &str) -> Result<[u8; 32], KeyError> {
    let body = key.strip_prefix(PREFIX).ok_or(KeyError::Form)?;
    let (secret, check) = body.split_once('_').ok_or(KeyError::Form)?;
    let all_digits = body.bytes().all(|b| b == b'_' || DIGITS.contains(&b));
    if secret.len() != SECRET_LENGTH || check.len() != CHECK_LENGTH || !all_digits {
        return Err(KeyError::Form);
    }
    let wanted = base62(&crc32(secret.as_bytes()).to_be_bytes(), CHECK_LENGTH);
    if wanted != check {
        return Err(KeyError::Check);
    }
    Ok(Sha256::digest(key.as_bytes()).into())
}

/// Whether a kept key is the one with this digest, compared in constant time.
pub(crate) fn is_key(kept: &ApiKey, digest: &[u8; 32]) -> bool {
    kept.secret_sha256.ct_eq(digest).into()
}

/// Big-endian base-62 digits of a number, padded in front to `length`.
fn base62(bytes: &[u8], length: usize) -> String {
    let mut number = bytes.to_vec();
    let mut digits = vec![DIGITS[0]; length];
    for digit in digits.iter_mut().rev() {
        let mut remainder = 0_u32;
        for byte in &mut number {
            let value = remainder * 256 + u32::from(*byte);
            *byte = u8::try_from(value / 62).unwrap_or_default();
            remainder = value % 62;
        }
        *digit = DIGITS[remainder as usize];
    }
    digits.into_iter().map(char::from).collect()
}

/// CRC-32 as in ISO 3309 and RFC 1952.
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0_u32, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| {
            if crc & 1 == 1 {
                (crc >> 1) ^ 0xEDB8_8320
            } else {
                crc >> 1
            }
        })
    })
}

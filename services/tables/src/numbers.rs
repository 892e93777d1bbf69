//! Numbers as tables write them: one decimal sign, no thousands separators, no units.

use obvert_engineering::unit_table::Conversion;

/// Digits tried, fewest first, for a number that was converted and must convert back unchanged.
const DIGITS: [usize; 4] = [6, 10, 15, 17];

/// Number of a cell; the error says what else was found.
pub(crate) fn parse_number(text: &str, decimal: char) -> Result<f64, String> {
    let plain = plain_form(text, decimal)?;
    match plain.parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        _ => Err(format!(
            "{text:?} is beyond the numbers a field can hold: check it"
        )),
    }
}

/// Whole number of a cell; `12.0` counts as whole, since spreadsheets write it so.
pub(crate) fn parse_whole(text: &str, decimal: char) -> Result<i64, String> {
    let plain = plain_form(text, decimal)?;
    let (whole, rest) = plain.split_once('.').unwrap_or((&plain, ""));
    if !rest.bytes().all(|digit| digit == b'0') {
        return Err(format!("{text:?} is not whole: give a whole number"));
    }
    whole
        .parse()
        .map_err(|_| format!("{text:?} is no whole number that fits: check it"))
}

/// Cell text of a number in the column's unit, such that reading it gives the same field value.
pub(crate) fn print_number(value: f64, conversion: Conversion, decimal: char) -> String {
    let converted = conversion.back(value);
    let text = if conversion == Conversion::NONE {
        converted.to_string()
    } else {
        shortest(converted, |shorter| conversion.forward(shorter) == value)
    };
    if decimal == '.' {
        text
    } else {
        text.replace('.', &decimal.to_string())
    }
}

fn shortest(value: f64, keeps: impl Fn(f64) -> bool) -> String {
    let rounded = |digits: &usize| format!("{value:.*e}", digits - 1).parse::<f64>().ok();
    let found = DIGITS
        .iter()
        .filter_map(rounded)
        .find(|shorter| keeps(*shorter));
    found.unwrap_or(value).to_string()
}

/// The number with `.` as its decimal sign, once its form is known to be right.
fn plain_form(text: &str, decimal: char) -> Result<String, String> {
    let other = if decimal == '.' { ',' } else { '.' };
    let form = format!("a number with the decimal sign {decimal:?}");
    if text.matches(decimal).count() > 1 || is_grouped(text, decimal) {
        return Err(format!(
            "{text:?} is not {form}: thousands separators are not read, leave them out"
        ));
    }
    if text.contains(other) && is_plain(text, other) {
        return Err(wrong_sign(text, other, decimal));
    }
    if !is_plain(text, decimal) {
        return Err(format!(
            "{text:?} is not {form}: write the number alone, its unit stands in the map"
        ));
    }
    Ok(text.replace(decimal, "."))
}

/// What to write for a number with the other decimal sign, which may also part thousands.
fn wrong_sign(text: &str, other: char, decimal: char) -> String {
    let swapped = text.replace(other, &decimal.to_string());
    let after = text.split_once(other).map_or(0, |(_, rest)| rest.len());
    if after == 3 {
        let joined = text.replace(other, "");
        return format!(
            "{text:?} may mean {swapped} or {joined}, the decimal sign of the column map is \
             {decimal:?}: write the one that is meant"
        );
    }
    format!(
        "{text:?} is not a number with the decimal sign {decimal:?}: write {swapped}, or set \
         decimal = \"{other}\" in the column map"
    )
}

/// Digits parted by spaces, apostrophes or underlines, or by both signs: `1 234`, `1.234,5`.
fn is_grouped(text: &str, decimal: char) -> bool {
    let other = if decimal == '.' { ',' } else { '.' };
    let mark =
        |c: char| c == other || matches!(c, ' ' | '\u{a0}' | '\u{202f}' | '\'' | '\u{2019}' | '_');
    let digits: String = text.chars().filter(|c| !mark(*c)).collect();
    let marks = text.chars().filter(|c| mark(*c)).count();
    let both = text.contains(other) && text.contains(decimal);
    is_plain(&digits, decimal) && marks > 0 && (marks > 1 || both || !text.contains(other))
}

/// Sign, digits, at most one decimal sign with digits round it, exponent as spreadsheets write it.
fn is_plain(text: &str, decimal: char) -> bool {
    let unsigned = text.strip_prefix(['+', '-']).unwrap_or(text);
    let (mantissa, exponent) = unsigned.split_once(['e', 'E']).unwrap_or((unsigned, "0"));
    let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    let exponent = exponent.strip_prefix(['+', '-']).unwrap_or(exponent);
    let (whole, rest) = mantissa.split_once(decimal).unwrap_or((mantissa, ""));
    digits(whole)
        && digits(rest)
        && digits(exponent)
        && !exponent.is_empty()
        && !(whole.is_empty() && rest.is_empty())
}

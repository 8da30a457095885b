//! How wide a text is at most, without a font at hand.
//!
//! The pages name fonts that are on nearly every machine; the widest of them decides, so that what fits
//! here fits everywhere.

/// Advance widths of the printable characters of ASCII, thousandths of the font size: DejaVu Sans 2.37,
/// from its font file. It is the widest of the fonts that the pages name.
const REGULAR: [u16; 95] = [
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337, 636, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632,
    575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635, 611, 732, 684, 989, 685,
    611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579,
    278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838,
];

/// The same of DejaVu Sans Bold 2.37.
const BOLD: [u16; 95] = [
    348, 456, 521, 838, 696, 1002, 872, 306, 457, 457, 523, 838, 380, 415, 380, 365, 696, 696, 696,
    696, 696, 696, 696, 696, 696, 696, 400, 400, 838, 838, 838, 580, 1000, 774, 762, 734, 830, 683,
    683, 821, 837, 372, 372, 775, 637, 995, 837, 850, 733, 850, 770, 720, 682, 812, 774, 1103, 771,
    724, 725, 457, 365, 457, 838, 500, 500, 675, 716, 593, 716, 678, 435, 716, 712, 343, 343, 665,
    343, 1042, 712, 687, 716, 716, 493, 595, 478, 712, 652, 924, 645, 652, 582, 712, 365, 712, 838,
];

/// Other characters of alphabets, at most, thousandths of the font size: those of DejaVu Sans Bold, but
/// for a few capitals of Cyrillic.
const OTHER: u16 = 870;

/// Characters of East Asia, and pictures, take a square and a little.
const SQUARE: u16 = 1050;

/// The first character that may take a square: radicals of East Asia begin there.
const FIRST_SQUARE: u32 = 0x2E80;

/// The width of a text in units of its font size.
#[must_use]
pub fn em(text: &str, bold: bool) -> f64 {
    let table = if bold { &BOLD } else { &REGULAR };
    let of = |c: char| -> u16 {
        let place = u32::from(c).checked_sub(32).and_then(|n| usize::try_from(n).ok());
        match place.and_then(|n| table.get(n)) {
            Some(width) => *width,
            None if u32::from(c) >= FIRST_SQUARE => SQUARE,
            None => OTHER,
        }
    };
    text.chars().map(|c| f64::from(of(c))).sum::<f64>() / 1000.0
}

/// The text in lines of at most `width` units of its font size, broken at blanks, and within a word
/// where one is longer than a line. No character is lost but the blanks at breaks.
#[must_use]
pub fn wrapped(text: &str, bold: bool, width: f64) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let Some(line) = lines.last_mut() else { continue };
        let joined = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if em(&joined, bold) <= width {
            *line = joined;
            continue;
        }
        let mut rest = String::new();
        for c in word.chars() {
            let longer = format!("{rest}{c}");
            if em(&longer, bold) > width && !rest.is_empty() {
                push(&mut lines, rest);
                rest = c.to_string();
            } else {
                rest = longer;
            }
        }
        push(&mut lines, rest);
    }
    lines
}

fn push(lines: &mut Vec<String>, text: String) {
    match lines.last_mut() {
        Some(line) if line.is_empty() => *line = text,
        _ => lines.push(text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_wider_than_asked_and_no_letter_is_lost() {
        let text = "hard, all bicarbonate Donaudampfschifffahrtsgesellschaft 水 mg/L";
        for width in [2.0, 5.0, 12.0, 60.0] {
            let lines = wrapped(text, true, width);
            assert!(lines.iter().all(|line| em(line, true) <= width), "{lines:?}");
            let letters = |t: &str| t.chars().filter(|c| !c.is_whitespace()).collect::<String>();
            assert_eq!(letters(&lines.concat()), letters(text));
        }
    }
}

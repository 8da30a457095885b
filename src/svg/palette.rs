//! The colours of pages and pictures, on light and on dark ground, with their contrast.
//!
//! Marks differ in lightness as well as in hue, and every one has a shape or a word beside it: nothing
//! is told by colour alone. Blue and orange are told apart by nearly everyone who sees few colours.

/// What a colour is for, which decides the contrast it needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// The ground itself.
    Ground,
    /// Text: a contrast of 4.5 to the ground (WCAG 2.2, 1.4.3).
    Text,
    /// Lines and shapes that carry meaning: a contrast of 3 (WCAG 2.2, 1.4.11).
    Mark,
    /// A surface that something lies on; text on it must keep 4.5.
    Surface,
    /// A line that only guides the eye and carries nothing.
    Guide,
}

/// A colour on light and on dark ground.
#[derive(Debug, Clone, Copy)]
pub struct Colour {
    /// Name of its variable.
    pub name: &'static str,
    /// What it is for.
    pub role: Role,
    /// Red, green, blue on light ground, and in print.
    pub light: [u8; 3],
    /// The same on dark ground.
    pub dark: [u8; 3],
}

const fn colour(name: &'static str, role: Role, light: u32, dark: u32) -> Colour {
    Colour { name, role, light: rgb(light), dark: rgb(dark) }
}

const fn rgb(hex: u32) -> [u8; 3] {
    let [_, red, green, blue] = hex.to_be_bytes();
    [red, green, blue]
}

/// All of them. Our choice.
pub const PALETTE: &[Colour] = &[
    colour("ground", Role::Ground, 0x00ff_ffff, 0x0012_171f),
    colour("panel", Role::Surface, 0x00f3_f6f8, 0x001b_222d),
    colour("reach", Role::Surface, 0x00e3_eef4, 0x001d_3140),
    colour("ink", Role::Text, 0x0018_2230, 0x00e9_edf2),
    colour("soft", Role::Text, 0x0051_5d6d, 0x00a9_b4c1),
    colour("accent", Role::Text, 0x000b_5c86, 0x0077_bfe6),
    colour("warn", Role::Text, 0x0095_3a00, 0x00f0_a36b),
    colour("guide", Role::Guide, 0x00d5_dbe2, 0x0033_3d4b),
    colour("edge", Role::Mark, 0x007c_8897, 0x007d_8a9a),
    colour("mark-1", Role::Mark, 0x0009_5a85, 0x006d_b9e4),
    colour("mark-2", Role::Mark, 0x00b6_5410, 0x00f2_a262),
    colour("mark-3", Role::Mark, 0x000d_7a63, 0x005f_d0b3),
    colour("mark-4", Role::Mark, 0x0074_3d80, 0x00d3_a2dd),
];

/// The variables of the colours for `selector`: light, dark where that is preferred, light in print.
#[must_use]
pub fn variables(selector: &str) -> String {
    let list = |of: fn(&Colour) -> [u8; 3]| -> String {
        let one = |c: &Colour| {
            let [red, green, blue] = of(c);
            format!("--{}:#{red:02x}{green:02x}{blue:02x};", c.name)
        };
        PALETTE.iter().map(one).collect()
    };
    let (light, dark) = (list(|c| c.light), list(|c| c.dark));
    format!(
        "{selector}{{color-scheme:light dark;{light}}}\
         @media (prefers-color-scheme:dark){{{selector}{{{dark}}}}}\
         @media print{{{selector}{{color-scheme:light;{light}}}}}"
    )
}

/// What the classes of pictures look like, inside `selector`.
#[must_use]
pub fn picture_rules(selector: &str) -> String {
    let rules = [
        ("text", "fill:var(--ink);font-family:var(--face)"),
        (".soft", "fill:var(--soft)"),
        (".guide", "stroke:var(--guide);stroke-width:1;fill:none"),
        (".axis", "stroke:var(--edge);stroke-width:1;fill:none"),
        (".leader", "stroke:var(--edge);stroke-width:.75;fill:none"),
        (".reach", "fill:var(--reach);stroke:var(--mark-1);stroke-width:1;stroke-dasharray:none"),
        (".published", "fill:none;stroke:var(--mark-4);stroke-width:1.5;stroke-dasharray:6 3"),
        (".scale", "fill:none;stroke:var(--mark-2);stroke-width:1.5"),
        (".scale-0", "fill:none;stroke:var(--mark-2);stroke-width:2;stroke-dasharray:2 3"),
        (".corrosion", "fill:none;stroke:var(--mark-3);stroke-width:1.75;stroke-dasharray:9 3 2 3"),
        (".over", "paint-order:stroke;stroke:var(--ground);stroke-width:3px;stroke-linejoin:round"),
        (".m1", "fill:var(--mark-1);stroke:var(--mark-1)"),
        (".m2", "fill:var(--mark-2);stroke:var(--mark-2)"),
        (".m3", "fill:var(--mark-3);stroke:var(--mark-3)"),
        (".m4", "fill:var(--mark-4);stroke:var(--mark-4)"),
        (".open", "fill:var(--ground);stroke:var(--ink);stroke-width:1.5"),
        (".l1", "fill:none;stroke:var(--mark-1);stroke-width:2"),
        (".l2", "fill:none;stroke:var(--mark-2);stroke-width:2;stroke-dasharray:7 3"),
        (".l3", "fill:none;stroke:var(--mark-3);stroke-width:2;stroke-dasharray:2 3"),
        (".l4", "fill:none;stroke:var(--mark-4);stroke-width:2;stroke-dasharray:8 3 2 3"),
        (".mean", "fill:none;stroke:var(--edge);stroke-width:2"),
        (".part", "fill:var(--panel);stroke:var(--edge);stroke-width:1"),
        (".part-2", "fill:var(--reach);stroke:var(--edge);stroke-width:1"),
        (".bracket", "fill:none;stroke:var(--soft);stroke-width:1.5"),
    ];
    let one = |(of, how): (&str, &str)| format!("{selector} {of}{{{how}}}");
    rules.into_iter().map(one).collect()
}

/// Fonts that are on nearly every machine; `text_width` counts with the widest.
pub const FACE: &str =
    "\"Segoe UI\",Roboto,\"Helvetica Neue\",Arial,\"Liberation Sans\",\"DejaVu Sans\",sans-serif";

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance (WCAG 2.2, definition of relative luminance; sRGB).
    fn luminance(rgb: [u8; 3]) -> f64 {
        let linear = |part: u8| {
            let share = f64::from(part) / 255.0;
            if share <= 0.040_45 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
        };
        let [red, green, blue] = rgb.map(linear);
        0.2126 * red + 0.7152 * green + 0.0722 * blue
    }

    /// Contrast ratio of two colours, from 1 to 21 (WCAG 2.2).
    fn contrast(a: [u8; 3], b: [u8; 3]) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn black_on_white_has_the_highest_contrast() {
        assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-9);
        // The lightest grey that passes for text on white is #767676.
        assert!(contrast([0x76; 3], [255; 3]) >= 4.5 && contrast([0x77; 3], [255; 3]) < 4.5);
    }

    #[test]
    fn text_and_marks_can_be_seen_on_every_surface() {
        for of in [|c: &Colour| c.light, |c: &Colour| c.dark] {
            let ground = |c: &&Colour| matches!(c.role, Role::Ground | Role::Surface);
            for under in PALETTE.iter().filter(ground) {
                for over in PALETTE {
                    let least = match over.role {
                        Role::Text => 4.5,
                        Role::Mark => 3.0,
                        _ => continue,
                    };
                    let ratio = contrast(of(over), of(under));
                    assert!(ratio >= least, "{} on {}: {ratio:.2}", over.name, under.name);
                }
            }
        }
    }

    /// Machado, Oliveira and Fernandes, IEEE Trans. Vis. Comput. Graph. 15, 1291 (2009), severity 1:
    /// protanopia and deuteranopia; linear RGB. From memory.
    const FEW_COLOURS: [[[f64; 3]; 3]; 2] = [
        [
            [0.152_286, 1.052_583, -0.204_868],
            [0.114_503, 0.786_281, 0.099_216],
            [-0.003_882, -0.048_116, 1.051_998],
        ],
        [
            [0.367_322, 0.860_646, -0.227_968],
            [0.280_085, 0.672_501, 0.047_413],
            [-0.011_820, 0.042_940, 0.968_881],
        ],
    ];

    #[test]
    fn the_two_main_marks_are_told_apart_by_those_who_see_few_colours() {
        let linear = |rgb: [u8; 3]| rgb.map(|p| (f64::from(p) / 255.0).powf(2.2));
        let named = |name: &str| PALETTE.iter().find(|c| c.name == name);
        let (Some(blue), Some(orange)) = (named("mark-1"), named("mark-2")) else { return };
        for of in [|c: &Colour| c.light, |c: &Colour| c.dark] {
            for sight in FEW_COLOURS {
                let seen = |rgb: [u8; 3]| {
                    let lin = linear(rgb);
                    sight.map(|row| {
                        row.iter()
                            .zip(lin)
                            .map(|(a, b)| a * b)
                            .sum::<f64>()
                            .max(0.0)
                            .powf(1.0 / 2.2)
                    })
                };
                let apart: f64 = seen(of(blue))
                    .iter()
                    .zip(seen(of(orange)))
                    .map(|(a, b)| (a - b).powi(2))
                    .sum::<f64>()
                    .sqrt();
                assert!(apart > 0.3, "{apart}");
            }
        }
    }
}

//! The only colours of the house. Roles, not paints: paper, ink, grid, grey, sand, brick; and one colour per joint,
//! which means that joint everywhere and nothing else.

/// A colour as `#rrggbb`.
pub type Colour = &'static str;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Theme {
    pub name: &'static str,
    /// Ground of a page.
    pub paper: Colour,
    /// Ground of a card on the page.
    pub card: Colour,
    /// Words, numbers, class squares, the net line.
    pub ink: Colour,
    /// Secondary words.
    pub grey: Colour,
    pub grid: Colour,
    /// Target bands.
    pub sand: Colour,
    /// Load arrows and stop signs only.
    pub brick: Colour,
    /// Ground behind a stop sign.
    pub brick_ground: Colour,
    /// Ground behind a caution.
    pub note_ground: Colour,
    /// Empty class square.
    pub square_off: Colour,
    /// Soft range bar.
    pub soft: Colour,
    pub near: Body,
    pub far: Body,
    /// Bars, plates, rails, cables.
    pub iron: Colour,
    pub iron_fill: Colour,
    /// Benches, pads, blocks.
    pub pad: Colour,
    pub pad_line: Colour,
    pub floor: Colour,
    joints: [Colour; 7],
}

/// Fill and outline of one side of the body.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Body {
    pub fill: Colour,
    pub line: Colour,
}

/// Joints that have a colour, in the order labels and bands follow.
pub const JOINTS: [&str; 7] = ["hip", "knee", "ankle", "shoulder", "elbow", "trunk", "wrist"];

pub static LIGHT: Theme = Theme {
    name: "light",
    paper: "#fbfaf6",
    card: "#ffffff",
    ink: "#1d2733",
    grey: "#5f6670",
    grid: "#e3dfd5",
    sand: "#ece2c8",
    brick: "#ad2c1f",
    brick_ground: "#fbf1ef",
    note_ground: "#f5f2ea",
    square_off: "#e6e2d9",
    soft: "#b9bdc1",
    near: Body { fill: "#c9d3dc", line: "#5b6b7a" },
    far: Body { fill: "#e6ebef", line: "#a7b2bc" },
    iron: "#3d4854",
    iron_fill: "#dcdcd8",
    pad: "#ddd5c3",
    pad_line: "#8f8672",
    floor: "#b8b2a4",
    joints: ["#2763a5", "#b35a00", "#6d4794", "#0f7263", "#a82c60", "#6d5d48", "#5f6a1c"],
};

pub static DARK: Theme = Theme {
    name: "dark",
    paper: "#14191f",
    card: "#1b222a",
    ink: "#ece8dd",
    grey: "#a7afb8",
    grid: "#2f3740",
    sand: "#4b4433",
    brick: "#f0806f",
    brick_ground: "#33201e",
    note_ground: "#23282c",
    square_off: "#39414a",
    soft: "#5c656e",
    near: Body { fill: "#52626f", line: "#b3c0cb" },
    far: Body { fill: "#2e3841", line: "#70808d" },
    iron: "#c3cad1",
    iron_fill: "#2a3138",
    pad: "#4a4436",
    pad_line: "#9c9178",
    floor: "#6c675b",
    joints: ["#7fb3ee", "#eda04a", "#c6a2ea", "#74e0cb", "#e0659d", "#cdb897", "#bccb5e"],
};

impl Theme {
    /// Colour of a joint; girdle counts as shoulder, lumbar and neck as trunk, forearm as wrist. Joints without one
    /// of their own are written in grey.
    pub fn joint(&self, id: &str) -> Colour {
        match joint_order(id) {
            Some(i) => self.joints[i],
            None => self.grey,
        }
    }
}

impl Theme {
    /// Every colour with the name of its role.
    pub fn roles(&self) -> Vec<(String, Colour)> {
        let mut roles: Vec<(String, Colour)> = [
            ("paper", self.paper),
            ("card", self.card),
            ("ink", self.ink),
            ("grey", self.grey),
            ("grid", self.grid),
            ("sand", self.sand),
            ("brick", self.brick),
            ("brick-ground", self.brick_ground),
            ("note-ground", self.note_ground),
            ("square-off", self.square_off),
            ("soft", self.soft),
            ("near", self.near.fill),
            ("near-line", self.near.line),
            ("far", self.far.fill),
            ("far-line", self.far.line),
            ("iron", self.iron),
            ("iron-fill", self.iron_fill),
            ("pad", self.pad),
            ("pad-line", self.pad_line),
            ("floor", self.floor),
        ]
        .map(|(role, colour)| (role.to_string(), colour))
        .into();
        roles.extend(JOINTS.iter().zip(self.joints).map(|(joint, colour)| (format!("joint-{joint}"), colour)));
        roles
    }
}

/// The roles of both themes as variables of a style sheet, the dark ones for whoever prefers dark.
pub fn css() -> String {
    let block = |t: &Theme| {
        let lines: Vec<String> = t.roles().iter().map(|(role, colour)| format!("  --{role}: {colour};")).collect();
        lines.join("\n")
    };
    format!(
        ":root {{\n{}\n}}\n@media (prefers-color-scheme: dark) {{\n:root {{\n{}\n}}\n}}\n",
        block(&LIGHT),
        block(&DARK)
    )
}

/// A drawing of the light theme whose colours follow the style sheet of the page it stands in.
pub fn follow_page(svg: &str) -> String {
    let mut out = String::with_capacity(svg.len() + svg.len() / 8);
    let mut rest = svg;
    let roles = LIGHT.roles();
    while let Some(at) = rest.find("\"#") {
        out.push_str(&rest[..=at]);
        rest = &rest[at + 1..];
        let colour = rest.get(..7).unwrap_or_default();
        match roles.iter().find(|(_, c)| *c == colour) {
            Some((role, _)) => {
                out.push_str("var(--");
                out.push_str(role);
                out.push(')');
                rest = &rest[7..];
            }
            None => {
                out.push('#');
                rest = &rest[1..];
            }
        }
    }
    out.push_str(rest);
    out
}

/// Place of a joint in [`JOINTS`].
pub fn joint_order(id: &str) -> Option<usize> {
    let id = match id {
        "girdle" => "shoulder",
        "lumbar" | "neck" | "spine" => "trunk",
        "forearm" => "wrist",
        other => other,
    };
    JOINTS.iter().position(|j| *j == id)
}

/// Red, green, blue from 0 to 1, gamma-coded; `None` where `c` is not `#rrggbb`.
pub fn rgb(c: &str) -> Option<[f64; 3]> {
    let h = c.strip_prefix('#').filter(|h| h.len() == 6)?;
    let v = u32::from_str_radix(h, 16).ok()?;
    Some([(v >> 16 & 255) as f64 / 255.0, (v >> 8 & 255) as f64 / 255.0, (v & 255) as f64 / 255.0])
}

/// Linear-light value of a gamma-coded channel (sRGB, IEC 61966-2-1).
pub fn linear(v: f64) -> f64 {
    if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
}

/// Contrast ratio 1 to 21 of two colours (WCAG 2.2, relative luminance); 1 for unreadable colours.
pub fn contrast(a: &str, b: &str) -> f64 {
    let light = |c: &str| rgb(c).map(|[r, g, b]| 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b));
    match (light(a), light(b)) {
        (Some(x), Some(y)) => (x.max(y) + 0.05) / (x.min(y) + 0.05),
        _ => 1.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_drawing_in_a_page_has_no_colour_of_its_own() {
        let svg = "<rect fill=\"#fbfaf6\" stroke=\"#2763a5\"/><a href=\"#x\">#1</a>";
        let got = follow_page(svg);
        assert_eq!(got, "<rect fill=\"var(--paper)\" stroke=\"var(--joint-hip)\"/><a href=\"#x\">#1</a>");
        for t in [&LIGHT, &DARK] {
            for (role, colour) in t.roles() {
                assert!(css().contains(&format!("--{role}: {colour};")), "{role}");
            }
        }
    }
}

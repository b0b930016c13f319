//! Figures: answers as SVG and PNG. In: the answer types; out: drawings. The only place that knows colours and type.
//! Must never compute a number of the answer: what is drawn is what was handed in, laid out.

pub mod arms;
pub mod body;
pub mod compare_card;
pub mod fault_card;
pub mod finding;
pub mod font;
pub mod geom;
#[cfg(feature = "png")]
pub mod gif;
mod labels;
pub mod ledger;
pub mod look_card;
pub mod marks;
#[cfg(feature = "png")]
pub mod png;
pub mod posture;
pub mod rep_curves;
pub mod ribbon;
pub mod settings;
pub mod sheet;
pub mod study_card;
pub mod svg;
pub mod theme;
mod things;
pub mod words;

pub use arms::{arms_card, arms_finding};
pub use compare_card::{compare_card, rank_card};
pub use fault_card::{FaultView, fault_card};
pub use finding::{audit_finding, compare_finding, finding, rank_finding};
pub use geom::View;
pub use ledger::{Opened, ledger};
pub use look_card::look_card;
pub use marks::{Card, Format};
pub use posture::{Frames, Options, posture_board, posture_svg, scene_box};
pub use rep_curves::{CurveOptions, capacity_svg, moments_svg};
pub use ribbon::{RibbonOptions, ribbon_svg};
pub use settings::{
    differing_keys, setting_label, setting_said, setting_said_and_typed, settings_ordered, variant_labels,
};
pub use sheet::{Indexed, SheetOptions, contact_sheet, html_index};
pub use study_card::study_card;
pub use svg::{Drawing, Label};
pub use theme::{DARK, LIGHT, Theme};

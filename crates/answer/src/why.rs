//! Why a movement does what it does to one head.

use crate::{BodyNote, Class, Range, SettingValue, Settings, Span};
use serde::{Deserialize, Serialize};

/// Answer to `look --why HEAD`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Why {
    /// Name and version of this shape.
    pub schema: String,
    pub movement: String,
    pub name: String,
    pub settings: Settings,
    pub body: BodyNote,
    pub head: String,
    pub plain: String,
    pub class: Class,
    pub stimulus: Range,
    /// The verdict with its main reason, one sentence.
    pub finding: String,
    /// Mean activation over the lift.
    pub activation: f64,
    /// Phase at which the head earns most, 0 = turning point, 1 = end of the lift.
    pub phase: f64,
    /// Every joint the head crosses whose balance was solved, the largest pull first.
    pub joints: Vec<WhyJoint>,
    pub length: WhyLength,
    /// Heads that answer the call of the first joint, the largest part first; this head among them.
    pub partners: Vec<WhyPartner>,
    /// Stimulus when feet and hands push exactly as usual; `None` where no contact is free to choose.
    pub fixed_contact: Option<f64>,
    /// Smallest change of one setting that changes the class.
    pub flips: Vec<WhyFlip>,
    /// Settings tried over their whole range without another class, with the stimulus they span.
    pub steady: Vec<WhySteady>,
    pub marks: Vec<String>,
}

/// What a joint asks of the head.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct WhyJoint {
    pub joint: String,
    /// Share of all pulls on the head: positive asks for it, negative holds it back; the sizes add up to 1.
    pub pull: f64,
    /// Moment that muscles must make here at `phase`, in the direction `axis`, N·m.
    pub moment_nm: f64,
    /// Direction of that moment, e.g. `knee.extension`.
    pub axis: String,
    /// The head's lever arm for that moment, m; negative works against it.
    pub arm_m: f64,
    /// The joint's part of the change of length over the lift, mm.
    pub change_mm: f64,
}

/// The length part.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct WhyLength {
    /// Normalised fibre length over the lift.
    pub span: Span,
    /// Mean part of its largest force that the head has at these lengths, weighted by activation.
    pub force_share: f64,
    /// Mean weight given to these lengths, weighted alike.
    pub weight: f64,
}

/// One head that makes the moment.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct WhyPartner {
    pub head: String,
    pub plain: String,
    /// Part of all muscle moment in the direction of the call, over the lift.
    pub share: f64,
}

/// A change that makes it another class.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct WhyFlip {
    pub setting: String,
    pub unit: String,
    pub from: SettingValue,
    pub to: SettingValue,
    pub class: Class,
    pub stimulus: f64,
}

/// A setting that changes nothing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct WhySteady {
    pub setting: String,
    pub span: Span,
}

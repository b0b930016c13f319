//! Names an expression may use: settings, body lengths, a family's helpers.

use crate::expr::{ExprError, Item, Names, evaluate};
use crate::family::FamilyFile;
use anatomy::body::{Body, Sex};
use answer::{SettingValue, Settings};
use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;

/// Body lengths by the names that movement files use, m and kg.
pub fn body_names(b: &Body) -> Vec<(&'static str, f64)> {
    vec![
        ("stature_m", b.stature_m),
        ("mass_kg", b.mass_kg),
        ("k", b.stature_m / 1.75),
        ("thigh_m", b.thigh_m),
        ("shank_m", b.shank_m),
        ("leg_m", b.thigh_m + b.shank_m + b.ankle_height_m),
        ("ankle_height_m", b.ankle_height_m),
        ("heel_x_m", b.heel_x_m),
        ("ball_x_m", b.ball_x_m),
        ("toe_x_m", b.toe_x_m),
        ("foot_m", b.toe_x_m - b.heel_x_m),
        ("half_hip_m", b.half_hip_m),
        ("biacromial_m", b.biacromial_m),
        ("shoulder_half_m", b.gh_m.z),
        ("upper_arm_m", b.upper_arm_m),
        ("forearm_m", b.forearm_m),
        ("grip_m", b.grip_m),
        ("arm_m", b.upper_arm_m + b.forearm_m + b.grip_m),
        ("trunk_m", b.lumbar_m.y + b.notch_from_lumbar_m.y),
        ("trunk_depth_m", b.trunk_depth_m),
        ("lumbar_y_m", b.lumbar_m.y),
        ("female", f64::from(b.sex == Sex::Female)),
    ]
}

/// Settings, body and helpers of one movement.
pub struct Scope<'a> {
    values: BTreeMap<&'a str, Item>,
    helpers: &'a BTreeMap<String, crate::family::Placed>,
    done: RefCell<BTreeMap<String, Option<Item>>>,
    /// Value of `u` where an expression runs over the rep.
    phase: Cell<Option<f64>>,
}

impl<'a> Scope<'a> {
    pub fn new(family: &'a FamilyFile, settings: &'a Settings, body: &Body) -> Scope<'a> {
        let mut values: BTreeMap<&str, Item> = BTreeMap::new();
        for (k, v) in body_names(body) {
            values.insert(k, Item::Number(v));
        }
        for (k, v) in settings {
            values.insert(
                k,
                match v {
                    SettingValue::Number(n) => Item::Number(*n),
                    SettingValue::Word(w) => Item::Word(w.clone()),
                },
            );
        }
        Scope { values, helpers: &family.helpers, done: RefCell::new(BTreeMap::new()), phase: Cell::new(None) }
    }

    /// From now on `u` has this value; `None`: it has none.
    pub(crate) fn set_phase(&self, phase: Option<f64>) {
        self.phase.set(phase);
    }

    /// Value of an expression in this scope.
    pub fn value(&self, text: &str) -> Result<Item, ExprError> {
        evaluate(text, self)
    }
}

impl Names for Scope<'_> {
    fn get(&self, name: &str) -> Option<Item> {
        if name == "u" {
            return self.phase.get().map(Item::Number);
        }
        if let Some(v) = self.values.get(name) {
            return Some(v.clone());
        }
        if let Some(v) = self.done.borrow().get(name) {
            // `None` while under evaluation: a helper that needs itself is unknown to itself.
            return v.clone();
        }
        let formula = self.helpers.get(name)?;
        self.done.borrow_mut().insert(name.to_string(), None);
        let v = evaluate(&formula.get_ref().text(), self).ok();
        self.done.borrow_mut().insert(name.to_string(), v.clone());
        v
    }
}

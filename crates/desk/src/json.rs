//! Answers as JSON and the schemas of their shapes. A shape has a name and a version; a field that changes its
//! meaning or goes away raises the version, a new field does not.

use crate::problem::Report;
use answer::Sources;
use answer::{
    Audit, Compare, Evidence, Faults, LayOut, Look, MovementRow, MuscleRow, ProofRow, Propose, Rank, Rebuild, Search,
    Similar, Sure, TechniqueRow, WhatIf, Why,
};
use schemars::{Schema, schema_for};
use serde::Serialize;

pub const LOOK: &str = "lengthwise.look/1";
pub const COMPARE: &str = "lengthwise.compare/1";
pub const RANK: &str = "lengthwise.rank/1";
pub const AUDIT: &str = "lengthwise.audit/1";
pub const MUSCLES: &str = "lengthwise.muscles/1";
pub const MOVEMENTS: &str = "lengthwise.movements/1";
pub const WHY: &str = "lengthwise.why/1";
pub const SOURCES: &str = "lengthwise.sources/1";
pub const PROOF: &str = "lengthwise.proof/1";
pub const SURE: &str = "lengthwise.sure/1";
pub const SIMILAR: &str = "lengthwise.similar/1";
pub const SEARCH: &str = "lengthwise.search/1";
pub const FAULTS: &str = "lengthwise.faults/1";
pub const PROPOSE: &str = "lengthwise.propose/1";
pub const LAY_OUT: &str = "lengthwise.lay-out/1";
pub const TECHNIQUE: &str = "lengthwise.technique/1";
pub const EVIDENCE: &str = "lengthwise.evidence/1";
pub const STUDY: &str = ::evidence::format::SCHEMA;
pub const REBUILD: &str = "lengthwise.rebuild/1";
pub const WHAT_IF: &str = "lengthwise.what-if/1";

/// Names `schema` takes, with name and version of the shape.
pub const NAMES: [(&str, &str); 20] = [
    ("look", LOOK),
    ("why", WHY),
    ("compare", COMPARE),
    ("rank", RANK),
    ("audit", AUDIT),
    ("propose", PROPOSE),
    ("lay-out", LAY_OUT),
    ("muscles", MUSCLES),
    ("movements", MOVEMENTS),
    ("sources", SOURCES),
    ("proof", PROOF),
    ("sure", SURE),
    ("similar", SIMILAR),
    ("search", SEARCH),
    ("faults", FAULTS),
    ("technique", TECHNIQUE),
    ("evidence", EVIDENCE),
    ("study", STUDY),
    ("rebuild", REBUILD),
    ("what-if", WHAT_IF),
];

/// JSON Schema of a command's answer; `None` for an unknown name.
pub fn schema(name: &str) -> Option<Schema> {
    let (mut schema, id) = match name {
        "look" => (schema_for!(Look), LOOK),
        "why" => (schema_for!(Why), WHY),
        "compare" => (schema_for!(Compare), COMPARE),
        "rank" => (schema_for!(Rank), RANK),
        "audit" => (schema_for!(Audit), AUDIT),
        "propose" => (schema_for!(Propose), PROPOSE),
        "lay-out" => (schema_for!(LayOut), LAY_OUT),
        "muscles" => (schema_for!(Vec<MuscleRow>), MUSCLES),
        "movements" => (schema_for!(Vec<MovementRow>), MOVEMENTS),
        "sources" => (schema_for!(Sources), SOURCES),
        "proof" => (schema_for!(Vec<ProofRow>), PROOF),
        "sure" => (schema_for!(Sure), SURE),
        "similar" => (schema_for!(Similar), SIMILAR),
        "search" => (schema_for!(Search), SEARCH),
        "faults" => (schema_for!(Faults), FAULTS),
        "technique" => (schema_for!(Vec<TechniqueRow>), TECHNIQUE),
        "evidence" => (schema_for!(Evidence), EVIDENCE),
        "study" => (::evidence::format::schema(), STUDY),
        "rebuild" => (schema_for!(Rebuild), REBUILD),
        "what-if" => (schema_for!(WhatIf), WHAT_IF),
        _ => return None,
    };
    schema.insert("title".into(), id.into());
    Some(schema)
}

/// An answer as indented JSON with a line end. Fields keep the order of the types; numbers that are no numbers
/// become null.
pub fn text<T: Serialize + ?Sized>(answer: &T) -> Result<String, Report> {
    let mut text = serde_json::to_string_pretty(answer)
        .map_err(|e| Report::internal(format!("the answer could not be written as JSON: {e}")))?;
    text.push('\n');
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::invented;
    use serde_json::Value;

    /// The answer fits its schema, and a copy without its first field does not.
    fn check<T: Serialize>(name: &str, answer: &T) {
        let schema = schema(name).expect("a known name");
        let validator = jsonschema::validator_for(schema.as_value()).expect("a valid schema");
        let mut value = serde_json::to_value(answer).expect("serialisable");
        let errors: Vec<String> = validator.iter_errors(&value).map(|e| e.to_string()).collect();
        assert!(errors.is_empty(), "{name}: {errors:?}");
        let broken = match &mut value {
            Value::Array(rows) => rows[0].as_object_mut(),
            other => other.as_object_mut(),
        };
        let key = if broken.as_ref().is_some_and(|o| o.contains_key("schema")) { "schema" } else { "id" };
        broken.expect("an object").remove(key);
        assert!(!validator.is_valid(&value), "{name} without {key} should not fit");
    }

    #[test]
    fn every_answer_fits_its_schema() {
        check("look", &invented::look());
        check("why", &invented::why());
        check("compare", &invented::compare());
        check("rank", &invented::rank());
        check("audit", &invented::audit());
        check("muscles", &invented::muscles());
        check("movements", &invented::movements());
        check("sources", &invented::source_rows());
        check("sure", &invented::sure());
        check("rebuild", &Rebuild::default());
        check("what-if", &WhatIf::default());
        assert!(schema("nonsense").is_none());
        assert!(NAMES.iter().all(|(name, id)| schema(name).is_some_and(|s| s.get("title") == Some(&(*id).into()))));
    }

    /// Every path of a value with its kind of value, one a line.
    fn shape(value: &Value, path: &str, out: &mut Vec<String>) {
        let kind = match value {
            Value::Object(map) => return map.iter().for_each(|(k, v)| shape(v, &format!("{path}.{k}"), out)),
            Value::Array(items) if !items.is_empty() => return shape(&items[0], &format!("{path}[]"), out),
            Value::Array(_) => "[]",
            Value::String(_) => "text",
            Value::Number(_) => "number",
            Value::Bool(_) => "yes/no",
            Value::Null => "null",
        };
        out.push(format!("{} {kind}", path.trim_start_matches('.')));
    }

    fn shape_of<T: Serialize>(answer: &T) -> String {
        let mut out = Vec::new();
        shape(&serde_json::to_value(answer).expect("serialisable"), "", &mut out);
        out.join("\n")
    }

    #[test]
    fn shapes_others_rely_on_do_not_change_by_accident() {
        insta::assert_snapshot!("look", shape_of(&invented::look()));
        insta::assert_snapshot!("why", shape_of(&invented::why()));
        insta::assert_snapshot!("compare_differences", shape_of(&invented::compare().differences));
        insta::assert_snapshot!("rank", shape_of(&invented::rank()));
        insta::assert_snapshot!("audit", shape_of(&invented::audit()));
        insta::assert_snapshot!("muscles", shape_of(&invented::muscles()));
        insta::assert_snapshot!("movements", shape_of(&invented::movements()));
        insta::assert_snapshot!("sure", shape_of(&invented::sure()));
    }
}

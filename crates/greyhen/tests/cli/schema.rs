//! What is printed for programs, held to the published schemas.


use serde_json::Value;
use std::path::Path;

/// A value against the part of JSON Schema the published schemas use; every departure with its path.
pub fn departures(schema: &Value, value: &Value, path: &str, out: &mut Vec<String>) {
    let kind = match value {
        Value::Null => "null",
        Value::Bool(_) => "boolean",
        Value::Number(n) if n.is_i64() || n.is_u64() => "integer",
        Value::Number(_) => "number",
        Value::String(_) => "string",
        Value::Array(_) => "array",
        Value::Object(_) => "object",
    };
    let allowed: Vec<&str> = match &schema["type"] {
        Value::String(t) => vec![t],
        Value::Array(ts) => ts.iter().filter_map(Value::as_str).collect(),
        _ => vec![],
    };
    let fits = allowed.contains(&kind) || (kind == "integer" && allowed.contains(&"number"));
    if !(allowed.is_empty() || fits) {
        out.push(format!("{path}: needed {allowed:?}, found {kind}"));
    }
    if let Some(words) = schema["enum"].as_array()
        && !words.contains(value)
    {
        out.push(format!("{path}: {value} is none of {words:?}"));
    }
    if let (Some(required), Some(object)) = (schema["required"].as_array(), value.as_object()) {
        for name in required.iter().filter_map(Value::as_str) {
            if !object.contains_key(name) {
                out.push(format!("{path}: `{name}` is missing"));
            }
        }
    }
    if let (Some(properties), Some(object)) = (schema["properties"].as_object(), value.as_object()) {
        for (name, part) in properties {
            if let Some(v) = object.get(name) {
                departures(part, v, &format!("{path}.{name}"), out);
            }
        }
    }
    if let Some(items) = value.as_array() {
        for (i, item) in items.iter().enumerate() {
            departures(&schema["items"], item, &format!("{path}[{i}]"), out);
        }
    }
}

/// A document that is printed, held to a schema of `docs/schemas`.
pub fn holds_schema(name: &str, document: &str) -> Value {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/schemas").join(name);
    let schema: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let value: Value = serde_json::from_str(document).unwrap_or_else(|e| panic!("{e}: {document}"));
    let mut wrong = Vec::new();
    departures(&schema, &value, "$", &mut wrong);
    assert!(wrong.is_empty(), "{name}: {wrong:#?}");
    value
}

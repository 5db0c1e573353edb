//! The structure that a JSON schema asks for, as far as our schemas use one. Anything else in a schema is an error,
//! so that no rule is silently left out.

use serde_json::Value;

/// Where `value` differs from `schema`; empty if nowhere.
pub fn differences(schema: &str, value: &Value) -> Vec<String> {
    let root: Value = serde_json::from_str(schema).unwrap();
    let mut found = Vec::new();
    walk(&root, &root, value, "$", &mut found);
    found
}

fn walk(root: &Value, schema: &Value, value: &Value, at: &str, found: &mut Vec<String>) {
    for (key, rule) in schema.as_object().unwrap() {
        let wrong = match key.as_str() {
            "$schema" | "$defs" | "title" | "description" => None,
            "$ref" => {
                let name = rule.as_str().unwrap().strip_prefix("#/$defs/").unwrap();
                walk(root, &root["$defs"][name], value, at, found);
                None
            }
            "anyOf" => {
                let fits = rule.as_array().unwrap().iter().any(|option| {
                    let mut inner = Vec::new();
                    walk(root, option, value, at, &mut inner);
                    inner.is_empty()
                });
                (!fits).then(|| "fits no option".to_owned())
            }
            "type" => {
                let names: Vec<&str> = match rule {
                    Value::String(name) => vec![name],
                    names => names.as_array().unwrap().iter().map(|name| name.as_str().unwrap()).collect(),
                };
                (!names.iter().any(|name| is(value, name))).then(|| format!("is {value}, not {names:?}"))
            }
            "const" => (value != rule).then(|| format!("is {value}, not {rule}")),
            "enum" => (!rule.as_array().unwrap().contains(value)).then(|| format!("{value} is not one of {rule}")),
            "minimum" => (value.as_f64() < rule.as_f64()).then(|| format!("{value} is below {rule}")),
            "pattern" => {
                assert_eq!(rule, "^[0-9a-f]{16}$");
                let text = value.as_str().unwrap_or("");
                let fits = text.len() == 16 && text.bytes().all(|byte| b"0123456789abcdef".contains(&byte));
                (!fits).then(|| format!("{value} does not match"))
            }
            "required" => {
                let missing = rule.as_array().unwrap().iter().find(|name| value.get(name.as_str().unwrap()).is_none());
                missing.map(|name| format!("lacks {name}"))
            }
            "properties" => {
                for (name, inner) in rule.as_object().unwrap() {
                    if let Some(value) = value.get(name) {
                        walk(root, inner, value, &format!("{at}.{name}"), found);
                    }
                }
                None
            }
            "additionalProperties" => {
                let known = schema["properties"].as_object().unwrap();
                let extra = value.as_object().and_then(|object| object.keys().find(|key| !known.contains_key(*key)));
                extra.map(|key| format!("has the unknown key {key}"))
            }
            "items" => {
                for (row, value) in value.as_array().into_iter().flatten().enumerate() {
                    walk(root, rule, value, &format!("{at}[{row}]"), found);
                }
                None
            }
            other => panic!("the schema says `{other}`, which this check does not know"),
        };
        found.extend(wrong.map(|wrong| format!("{at} {wrong}")));
    }
}

fn is(value: &Value, name: &str) -> bool {
    match name {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "integer" => value.is_u64() || value.is_i64(),
        "number" => value.is_number(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        other => panic!("unknown type `{other}`"),
    }
}

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
            "$schema" | "$defs" | "$id" | "definitions" | "title" | "description" | "default" | "format"
            | "examples" => None,
            "$ref" => {
                let target = root.pointer(rule.as_str().unwrap().strip_prefix('#').unwrap()).unwrap();
                walk(root, target, value, at, found);
                None
            }
            "anyOf" | "oneOf" => {
                let fits = rule.as_array().unwrap().iter().filter(|option| {
                    let mut inner = Vec::new();
                    walk(root, option, value, at, &mut inner);
                    inner.is_empty()
                });
                let fits = fits.count();
                (fits == 0 || (key == "oneOf" && fits > 1)).then(|| format!("fits {fits} options"))
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
            "maximum" => (value.as_f64() > rule.as_f64()).then(|| format!("{value} is above {rule}")),
            "minItems" => {
                let few = value.as_array().is_some_and(|list| (list.len() as u64) < rule.as_u64().unwrap());
                few.then(|| format!("{value} has too few items"))
            }
            "uniqueItems" => {
                let list: Vec<String> = value.as_array().into_iter().flatten().map(Value::to_string).collect();
                let repeats = list.iter().collect::<std::collections::BTreeSet<_>>().len() < list.len();
                (rule == true && repeats).then(|| "repeats an item".to_owned())
            }
            // Of published schemas, only patterns of values that no report holds.
            "pattern" if rule != "^[0-9a-f]{16}$" => value.is_string().then(|| format!("{value} meets a pattern")),
            "pattern" => {
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
                let known = schema["properties"].as_object();
                let known = |key: &str| known.is_some_and(|known| known.contains_key(key));
                let extra = value.as_object().into_iter().flatten().filter(|(key, _)| !known(key));
                match rule {
                    Value::Bool(allowed) => {
                        extra.map(|(key, _)| key).find(|_| !allowed).map(|key| format!("has the unknown key {key}"))
                    }
                    inner => {
                        for (key, value) in extra {
                            walk(root, inner, value, &format!("{at}.{key}"), found);
                        }
                        None
                    }
                }
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

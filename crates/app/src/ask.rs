//! A question about a movement as an address: `m=ID{key=value}`, `set.KEY=VALUE`, `client=ID`.

use crate::App;
use crate::answers::Refused;
use answer::{SettingValue, Settings};
use desk::Desk;
use desk::problem::Problem;
use desk::wish::{Wish, parse_wish};
use programme::Client;
use std::collections::BTreeMap;
use store::ClientId;

/// Fields of an address.
pub type Query = BTreeMap<String, String>;

/// For whom and what is asked.
pub struct Asked {
    pub wish: Wish,
    pub client: Option<(ClientId, Client)>,
}

/// Reads the movement of an address under `key`; sliders (`set.…`) go before what the movement's own word says.
pub fn asked(app: &App, query: &Query, key: &str, otherwise: &str) -> Result<Asked, Refused> {
    let text = query.get(key).map_or(otherwise, String::as_str);
    let mut wish = parse_wish(text).map_err(|what| Problem::error("movement", what))?;
    for (k, v) in query.iter().filter_map(|(k, v)| Some((k.strip_prefix("set.")?, v))) {
        let number = v.replace(',', ".").parse::<f64>().ok().filter(|v| v.is_finite());
        wish.settings.insert(k.into(), number.map_or_else(|| SettingValue::Word(v.clone()), SettingValue::Number));
    }
    Ok(Asked { wish, client: client_of(app, query)? })
}

/// The client of an address.
pub fn client_of(app: &App, query: &Query) -> Result<Option<(ClientId, Client)>, Refused> {
    let Some(id) = query.get("client").filter(|c| !c.is_empty()) else { return Ok(None) };
    let id = id.parse().map_err(|_| Problem::error("client", format!("\"{id}\" is no number of a client")))?;
    Ok(Some((id, app.known(id)?.client)))
}

impl Asked {
    pub fn desk(&self, app: &App, draws: usize) -> Desk {
        app.desk(self.client.as_ref().map(|(_, c)| c.clone()), draws)
    }
}

/// `movement{key=value,…}` with its settings, as an address takes it.
pub fn word(movement: &str, settings: &Settings) -> String {
    let value = |v: &SettingValue| match v {
        SettingValue::Number(v) => desk::text::short(*v, 4).replace('−', "-"),
        SettingValue::Word(w) => w.clone(),
    };
    if settings.is_empty() {
        return movement.to_string();
    }
    let pairs: Vec<String> = settings.iter().map(|(k, v)| format!("{k}={}", value(v))).collect();
    format!("{movement}{{{}}}", pairs.join(","))
}

/// Fields joined and escaped for an address.
pub fn address<'a>(path: &str, fields: impl IntoIterator<Item = (&'a str, String)>) -> String {
    let mut out = String::from(path);
    let mut sign = '?';
    for (k, v) in fields.into_iter().filter(|(_, v)| !v.is_empty()) {
        out.push(sign);
        out.push_str(k);
        out.push('=');
        for b in v.bytes() {
            match b {
                b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' | b'.' | b'~' => out.push(char::from(b)),
                _ => out.push_str(&format!("%{b:02X}")),
            }
        }
        sign = '&';
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_question_survives_its_address() {
        let wish = parse_wish("back-squat{depth_knee_deg=120,grip=wide}").expect("a wish");
        assert_eq!(word(&wish.movement, &wish.settings), "back-squat{depth_knee_deg=120,grip=wide}");
        let got = address("/movement", [("m", "a{b=-1}".to_string()), ("client", String::new()), ("v", "ü".into())]);
        assert_eq!(got, "/movement?m=a%7Bb%3D-1%7D&v=%C3%BC");
    }
}

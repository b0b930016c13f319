//! The list of what can be wrong with a page finds each defect that is planted, and nothing in a sound page.

use crate::drive::{Tab, with_browser};

const SOUND: &str = "<!doctype html><html lang=en><head><meta charset=utf-8><meta name=viewport content='width=device-width'>\
    <title>Sound</title><style>input,button{height:30px;min-width:30px}</style></head><body><main><h1>Sound</h1>{}</main></body></html>";

/// Defects by the rule that must find them; each stands alone in an otherwise sound page.
const PLANTED: [(&str, &str); 21] = [
    ("4.1.2", "<input placeholder='no name'>"),
    ("4.1.2", "<button></button>"),
    ("4.1.2", "<a href='/x'><svg aria-hidden='true' width='30' height='30'></svg></a>"),
    ("4.1.2", "<p id='a'>x</p><p id='a'>y</p>"),
    ("4.1.2", "<label for='gone'>x</label>"),
    ("4.1.2", "<p aria-describedby='gone'>x</p>"),
    ("2.4.3", "<button tabindex='3'>a button that jumps</button>"),
    (
        "2.5.8",
        "<button class='s'>x</button><link rel=x><style>.s{min-width:0;width:12px;height:12px;padding:0;border:0}</style>",
    ),
    ("1.1.1", "<img src='data:,' width='9' height='9'>"),
    ("1.1.1", "<svg width='30' height='30'><rect width='9' height='9'/></svg>"),
    ("1.3.1", "<table><tr><td>1</td></tr></table>"),
    ("1.3.1", "<h4>a level left out</h4>"),
    ("1.3.1", "<h1>a second one</h1>"),
    ("1.3.1", "<fieldset><input aria-label='x'></fieldset>"),
    ("1.4.3", "<p class='c'>pale</p><style>.c{color:#999}</style>"),
    ("1.4.3", "<div class='g'><p>pale on its ground</p></div><style>.g{background:#777;color:#fff9}</style>"),
    ("1.4.11", "<input aria-label='x' class='e'><style>.e{border:1px solid #ddd;background:#fff}</style>"),
    ("1.4.10", "<p class='w'>wide</p><style>.w{width:3000px}</style>"),
    ("size", "<p class='t'>small</p><style>.t{font-size:9px}</style>"),
    (
        "size",
        "<svg role='img' aria-label='x' viewBox='0 0 200 200' width='100' height='100'><text y='99'>small</text></svg>",
    ),
    ("policy", "<p style='color:black'>styled in place</p>"),
];

async fn wrong(tab: &Tab, part: &str) -> Vec<String> {
    let page = SOUND.replace("{}", part).replace('#', "%23");
    tab.client.goto(&format!("data:text/html,{page}")).await.expect("the page opens");
    tab.wrong(13.0, 13.0).await
}

#[test]
fn every_planted_defect_is_found_and_a_sound_page_has_none() {
    with_browser(async |tab| {
        let sound = "<h2>Fields</h2><label>Name <input name='n'></label> <button>Save this</button>\
                     <svg role='img' aria-label='a drawing' width='20' height='20'></svg>\
                     <table><tr><th scope='col'>a</th></tr><tr><td>1</td></tr></table>";
        assert_eq!(wrong(&tab, sound).await, Vec::<String>::new());
        for (rule, part) in PLANTED {
            let found = wrong(&tab, part).await;
            assert!(found.iter().any(|w| w.starts_with(rule)), "{part} should break {rule}: {found:?}");
        }
    });
}

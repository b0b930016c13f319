//! Parts of the Movement place that change with a slider: figure, ribbon, curves, table of heads; and its whys.

use crate::ask::{Asked, Query, address, word};
use answer::{Class, Faults, HeadLook, Look, Scene, Why, joint_word};
use desk::text;
use figure::{
    CurveOptions, Frames, LIGHT, Options, RibbonOptions, View, capacity_svg, moments_svg, posture_svg, ribbon_svg,
};
use maud::{Markup, PreEscaped, html};

/// Widths of a chart beside the figure and on a phone, px; the page shows the one that fits.
const WIDE: f64 = 680.0;
const NARROW: f64 = 340.0;

/// What of the movement is shown.
pub struct Shown {
    pub view: View,
    /// Head of the ribbon; the movement's own choice without one.
    head: Option<String>,
}

impl Shown {
    pub fn of(query: &Query) -> Shown {
        Shown {
            view: query.get("view").and_then(|v| View::parse(v)).unwrap_or(View::Side),
            head: query.get("h").filter(|h| !h.is_empty()).cloned(),
        }
    }
    /// The head whose ribbon is drawn.
    pub fn head<'a>(&self, look: &'a Look) -> Option<&'a HeadLook> {
        let asked = self.head.as_ref().and_then(|id| look.heads.iter().find(|h| h.id == *id));
        asked.or_else(|| figure::look_card::telling(look, 1).into_iter().next()).or_else(|| look.heads.first())
    }
}

/// An SVG whose colours follow the page.
fn inline(svg: &str) -> PreEscaped<String> {
    PreEscaped(figure::theme::follow_page(svg))
}

/// One part of the page.
pub fn parts(look: &Look, shown: &Shown, asked: &Asked, part: &str) -> Markup {
    match part {
        "posture" => posture(look, shown),
        _ => {
            html! { (ribbon(look, shown)) (curves(look)) (load(look)) (heads(look, asked)) (trials(look)) (files(look, shown, asked)) (notes(look)) }
        }
    }
}

fn options() -> Options {
    Options { width: 460.0, height: 520.0, contacts: true, mass: true, ..Options::default() }
}

/// A single frame, seen from where all frames are seen.
pub fn one(scene: &Scene, view: View, frame: usize, within: Option<[f64; 4]>) -> String {
    let o = Options { within, detail: 20, ..options() };
    figure::theme::follow_page(&posture_svg(scene, view, Frames::One(frame), &o).svg)
}

fn posture(look: &Look, shown: &Shown) -> Markup {
    html! {
        section.card.posture aria-label="Posture" {
            fieldset.views { legend.unseen { "Seen from" }
                @for v in [View::Side, View::Front, View::Top] {
                    label { input type="radio" name="view" value=(v.word()) checked[shown.view == v]; " " (v.word()) }
                }
            }
            @match &look.scene {
                Some(scene) if !scene.frames.is_empty() => {
                    div data-stills { (inline(&posture_svg(scene, shown.view, Frames::Hardest, &options()).svg)) }
                    div.player {
                        button.quiet type="button" data-play aria-label="Play one repetition" { "▶ Play" }
                        label.unseen for="scrub" { "Place in the repetition" }
                        input id="scrub" type="range" min="0" max=(scene.frames.len() - 1) value=(scene.hardest_frame) data-scrub;
                        span.grey.small { (scene.from_word) " to " (scene.to_word) }
                    }
                    p.grey.small { "Dotted: line of the load. Arrows: forces. Coloured lines: lever arms. Quartered circle: centre of mass of the body." }
                }
                _ => p.note { "No posture could be drawn." },
            }
        }
    }
}

fn ribbon(look: &Look, shown: &Shown) -> Markup {
    let Some(head) = shown.head(look) else { return html! {} };
    let (Some(ribbon), Some(scene)) = (&head.ribbon, &look.scene) else { return html! {} };
    let o = |width: f64| RibbonOptions {
        width,
        height: 300.0,
        theme: &LIGHT,
        font_px: 15.0,
        title: "",
        from_word: &scene.from_word,
        to_word: &scene.to_word,
    };
    html! {
        section.card aria-labelledby="ribbon-title" {
            h2 id="ribbon-title" { label for="ribbon-head" { "Length over the lift: " }
                select id="ribbon-head" name="h" { @for h in look.heads.iter().filter(|h| h.ribbon.is_some()) { option value=(h.id) selected[h.id == head.id] { (figure::words::capital(&h.plain)) } } }
            }
            div.wide { (inline(&ribbon_svg(ribbon, &o(WIDE)).svg)) }
            div.narrow { (inline(&ribbon_svg(ribbon, &o(NARROW)).svg)) }
            p { (figure::ribbon::ribbon_words(ribbon)) }
        }
    }
}

fn curves(look: &Look) -> Markup {
    let o = |width: f64| CurveOptions { width, height: 250.0, theme: &LIGHT, font_px: 15.0 };
    let both = |draw: &dyn Fn(&CurveOptions) -> Option<figure::Drawing>| {
        html! {
            @for (class, width) in [("wide", WIDE), ("narrow", NARROW)] {
                @if let Some(d) = draw(&o(width)) { div class=(class) { (inline(&d.svg)) } }
            }
        }
    };
    html! {
        details.card { summary { "Where in the lift it is hard, and for which joint" }
            (both(&|o| capacity_svg(look, o)))
            (both(&|o| moments_svg(look, o)))
            @if let Some(scene) = &look.scene {
                div.scroll { table { caption.unseen { "Moments over the lift, N·m" }
                    thead { tr { th scope="col" { "Moment" } th scope="col" { (scene.from_word) } th scope="col" { "half-way" } th scope="col" { (scene.to_word) } } }
                    tbody { @for m in scene.moments.iter().filter(|m| !m.moment_nm.is_empty()).take(5) { tr { th scope="row" { (m.axis.replacen('.', " ", 1).replace('-', " ")) }
                        @for i in [0, m.moment_nm.len() / 2, m.moment_nm.len() - 1] { td.n { (text::number(m.moment_nm[i], 0)) " N·m" } } } } }
                } }
            }
        }
    }
}

fn load(look: &Look) -> Markup {
    html! {
        p.load { "A hard set: " b { (text::short_range(look.load_range, 0)) } " " (look.load_unit)
            @if look.limiting_joint != "none" { "; the " b { (joint_word(&look.limiting_joint)) } " ends it, hardest at " (text::number(100.0 * look.sticking_phase, 0)) " % of the way up" } "."
            @if !look.load_note.is_empty() { " " span.grey { (look.load_note) } } }
        @if !look.contact_forces.is_empty() {
            p.grey.small { "Largest joint contact forces, estimates in body weights: "
                @for (i, (joint, r)) in look.ranges.contact_forces.iter().enumerate() { @if i > 0 { ", " } (joint_word(joint)) " " (text::range(*r, 1)) } "." }
        }
    }
}

/// Class as a word and four squares.
pub fn class(c: Class) -> Markup {
    let full = match c {
        Class::Prime => 4,
        Class::Strong => 3,
        Class::Some => 2,
        Class::Little => 1,
    };
    html! { span.class { span.squares aria-hidden="true" { @for i in 0..4 { span.full[i < full] {} } } (c.word()) } }
}

/// Heads that get at least some, group by group; the others on opening.
fn heads(look: &Look, asked: &Asked) -> Markup {
    let low = |h: &&HeadLook| h.marks.iter().any(|m| m == answer::LOW_CONFIDENCE);
    let mut first: Vec<&HeadLook> = look.heads.iter().filter(|h| h.class != Class::Little && !low(h)).collect();
    first.extend(look.heads.iter().filter(|h| h.class != Class::Little).filter(low));
    let rest: Vec<&HeadLook> = look.heads.iter().filter(|h| h.class == Class::Little).collect();
    html! {
        section.card aria-labelledby="heads-title" {
            h2 id="heads-title" { "What each head gets from one hard set" }
            (table_of(look, &first, asked))
            details { summary { (rest.len()) " heads get little" } (table_of(look, &rest, asked)) }
            p.grey.small { "Credit: pooled, then by mechanics · by counting (direct 1, indirect ½) · by training trials; a dash where no trial speaks." }
            @if !look.range_note.is_empty() { p.grey.small { (look.range_note) } }
        }
    }
}

/// Training studies that touch the movement.
fn trials(look: &Look) -> Markup {
    html! {
        @if !look.trials.is_empty() {
            details.card { summary { (look.trials.len()) " training studies of this movement or a near one" }
                ul.lines { @for t in &look.trials { li { (t.sentence) br; span.grey.small { (t.citation) "; " (t.participants) ", " (text::short(t.weeks, 1)) " weeks; with " (t.movement) ", distance " (text::number(t.distance, 2)) "; " (t.how) } } } }
            }
        }
    }
}

fn table_of(look: &Look, rows: &[&HeadLook], asked: &Asked) -> Markup {
    let client = asked.client.as_ref().map(|(id, _)| id.to_string()).unwrap_or_default();
    let why = |head: &str| {
        address(
            "/movement/why",
            [("m", word(&look.movement, &asked.wish.settings)), ("h", head.to_string()), ("client", client.clone())],
        )
    };
    html! {
        div.scroll { table.stack {
            thead { tr { th scope="col" { "Head" } th scope="col" { "One hard set" } th.n scope="col" { "Stimulus" } th.n scope="col" { "Length reached" } th.n scope="col" { "Change, mm" } th.n scope="col" { "Credit" } th scope="col" { "" } } }
            tbody { @for h in rows { tr {
                th scope="row" { a href={ "/muscle?h=" (h.id) } { (figure::words::capital(&h.plain)) } @for m in &h.marks { " " span.mark { (m) } } br; span.grey.small { (h.group) } }
                td data-label="One hard set" { (class(h.class)) }
                td.n data-label="Stimulus" { span.value { (text::number(h.stimulus.mid, 2)) @if h.stimulus.high > h.stimulus.low { " " span.grey.nb { "(" (text::number(h.stimulus.low, 2)) "–" (text::number(h.stimulus.high, 2)) ")" } } } }
                td.n data-label="Length reached" { span.nb { (text::span(h.length, 2)) } }
                td.n data-label="Change, mm" { span.value { (text::signed(h.length_change_mm.total, 0))
                    @for (j, v) in h.length_change_mm.by_joint.iter().filter(|(_, v)| v.abs() >= 0.5) { " " span.grey.small.nb { (joint_word(j)) " " (text::signed(*v, 0)) } }
                    @if h.opposition >= 0.2 { " " span.small.nb { "joints oppose " (text::number(100.0 * h.opposition, 0)) " %" } } } }
                td.n data-label="Credit" { span.value { b { (text::number(h.credit.pooled.mid, 2)) } " " span.grey.small.nb { (text::number(h.credit.mechanics.mid, 2)) " · " (text::short(h.credit.convention, 2)) " · " @match h.credit.trials { Some(t) => (text::number(t, 2)), None => "–" } } } }
                td { details.why data-fetch=(format!("{}&part=1", why(&h.id))) { summary { span.link { "why" } } a href=(why(&h.id)) { "Open the reasons" } } }
            } } }
        } }
    }
}

fn files(look: &Look, shown: &Shown, asked: &Asked) -> Markup {
    let client = asked.client.as_ref().map(|(id, _)| id.to_string()).unwrap_or_default();
    let head = shown.head(look).map(|h| h.id.clone()).unwrap_or_default();
    let to = |kind: &str| {
        address(
            "/movement/figure",
            [
                ("m", word(&look.movement, &asked.wish.settings)),
                ("client", client.clone()),
                ("h", head.clone()),
                ("kind", kind.to_string()),
            ],
        )
    };
    html! {
        p.actions.small { "Save this as "
            @for (kind, name) in [("svg", "SVG"), ("png", "PNG"), ("slide", "slide 1920 × 1080"), ("post", "post 1080 × 1350"), ("gif", "moving picture (GIF)")] { a href=(to(kind)) { (name) } " " } }
    }
}

fn notes(look: &Look) -> Markup {
    html! { @if !look.notes.is_empty() { details.card { summary { "What was assumed" } ul { @for n in &look.notes { li { (n) } } } } } }
}

/// The reasons of one head, in words.
pub fn why(w: &Why) -> Markup {
    let value = |v: &answer::SettingValue, key: &str| figure::setting_said(key, v);
    html! {
        div.reasons {
            p { b { (w.finding) } }
            @if !w.marks.is_empty() { p.note { "Mind: " (w.marks.join(", ")) } }
            p { "Stimulus " (text::range(w.stimulus, 2)) ", mean activation " (text::number(100.0 * w.activation, 0)) " %; it earns most at " (text::number(100.0 * w.phase, 0)) " % of the way up." }
            @if !w.joints.is_empty() { div.scroll { table { thead { tr { th scope="col" { "Joint" } th scope="col" { "Asks for" } th scope="col" { "Pull" } th scope="col" { "Moment there" } th scope="col" { "Lever arm" } th scope="col" { "Length" } } }
                tbody { @for j in &w.joints { tr { th scope="row" { (joint_word(&j.joint)) } td { (j.axis.split_once('.').map_or(j.axis.as_str(), |(_, what)| what).replace('-', " ")) } td.n { (text::signed(100.0 * j.pull, 0)) " %" } td.n { (text::number(j.moment_nm, 0)) " N·m" } td.n { (text::signed(1e3 * j.arm_m, 0)) " mm" } td.n { (text::signed(j.change_mm, 0)) " mm" } } } }
            } } }
            p { "It works at " (text::span(w.length.span, 2)) " of its best length, where it has " (text::number(100.0 * w.length.force_share, 0)) " % of its force." }
            @if !w.partners.is_empty() { p { "Who does the work: " @for (i, p) in w.partners.iter().enumerate() { @if i > 0 { ", " } (p.plain) " " (text::number(100.0 * p.share, 0)) " %" } "." } }
            @if w.flips.is_empty() { p { "No single setting makes it another class." } } @else {
                p { "What would change the verdict:" }
                ul { @for f in w.flips.iter().take(5) { li { (value(&f.from, &f.setting)) " becomes " (value(&f.to, &f.setting)) ": " b { (f.class.word()) } " (" (text::number(f.stimulus, 2)) ")" } } }
            }
            p.small { a href={ "/evidence/sources?id=" (w.head) } { "Where the numbers of this head come from" } }
        }
    }
}

/// Faults, those that matter first.
pub fn faults(f: &Faults) -> Markup {
    let (yes, no): (Vec<_>, Vec<_>) = f.faults.iter().partition(|q| q.matters);
    html! {
        @for q in yes.into_iter().chain(no) {
            details.fault open[q.matters] { summary { b { (figure::words::capital(&q.fault)) } ": " (if q.matters { "matters" } else { "does not matter" }) }
                p { (figure::setting_said(&q.setting, &q.from)) " becomes " (figure::setting_said(&q.setting, &q.to)) ". " (figure::words::capital(&q.finding)) "." }
                p.grey { "A hard set " (text::short_range(q.load_from, 0)) " " (q.load_unit) ", with the fault " (text::short_range(q.load_to, 0)) ". Coaches say: " (q.effect) }
                ul { @for h in q.heads.iter().filter(|h| h.change.abs() >= 0.05).take(5) { li { (figure::words::capital(&h.plain)) " " (text::range(h.from, 2)) " → " (text::range(h.to, 2)) @if h.matters { " " b { "matters" } } } } }
            }
        }
        @if !f.left_out.is_empty() { details { summary { "Left out" } ul { @for l in &f.left_out { li { (l.fault) ": " (l.why) } } } } }
    }
}

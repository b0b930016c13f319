//! Solve a family with its default settings and print angles: a quick look while writing movement files.
use anatomy::body::Body;
use anatomy::skeleton::Side;
use answer::{SettingValue, Settings};
use movement::build::{Family, plan};
use movement::posture::{Angle, LeanOf, SolverMemory, lean_rad};
use units::deg;
fn main() {
    let mut args = std::env::args().skip(1);
    let family = args.next().expect("family");
    let text = std::fs::read_to_string(format!("data/movements/families/{family}.toml")).expect("file");
    let f = match Family::parse(&text, &family) {
        Ok(f) => f,
        Err(p) => {
            println!("{p}");
            return;
        }
    };
    let mut s = Settings::new();
    let table = std::fs::read_to_string("data/movements/family_settings.csv").expect("settings");
    for r in csv::Reader::from_reader(table.as_bytes()).records().map_while(Result::ok) {
        if (r[0] == *f.file.id || r[0] == *"(any)") && !r[7].is_empty() {
            s.insert(r[1].into(), r[7].parse().map(SettingValue::Number).unwrap_or(SettingValue::Word(r[7].into())));
        }
    }
    for a in args {
        let (k, v) = a.split_once('=').expect("key=value");
        s.insert(k.into(), v.parse().map(SettingValue::Number).unwrap_or(SettingValue::Word(v.into())));
    }
    let ranges =
        movement::ranges::Ranges::parse(&std::fs::read_to_string("data/anatomy/joint_ranges.csv").unwrap(), "r")
            .unwrap();
    let body = Body::average_man();
    let plan = match plan(&f, &family, &s, &Default::default(), &body, &ranges) {
        Ok(p) => p,
        Err(e) => {
            for p in e {
                println!("{p}");
            }
            return;
        }
    };
    let mut mem = SolverMemory::default();
    let t = std::time::Instant::now();
    let mut rep = plan.rep(&body, 21, &mut mem);
    for _ in 0..20 {
        rep = plan.rep(&body, 21, &mut mem);
    }
    println!(
        "{:.0} us a rep, balanced {:?}, unit {}",
        t.elapsed().as_secs_f64() * 1e6 / 21.0,
        rep.balanced,
        rep.load.unit
    );
    println!("ph  miss(mm,deg) | trunk shank pelvis | hip f/a/ir knee ank inv tib lum | sh pl/el/ir elb | hand xyz");
    for fr in rep.frames.iter().step_by(4) {
        let p = &fr.posture;
        let r = Side::Right;
        let g = |a: Angle| deg(a.read(p));
        let h = fr.figure.at(anatomy::skeleton::Segment::Hand(r), &movement::things::grip_local(&body));
        println!(
            "{:.2} {:5.1} {:4.1} | {:5.1} {:5.1} {:5.1} | {:5.1} {:5.1} {:5.1} {:5.1} {:5.1} {:5.1} {:5.1} {:5.1} | {:5.1} {:5.1} {:5.1} {:5.1} | {:.3} {:.3} {:.3}",
            fr.phase,
            fr.miss_m * 1e3,
            deg(fr.miss_rad),
            deg(lean_rad(LeanOf::Trunk, &fr.figure)),
            deg(lean_rad(LeanOf::Shank(r), &fr.figure)),
            deg(lean_rad(LeanOf::Pelvis, &fr.figure)),
            g(Angle::HipFlexion(r)),
            g(Angle::HipAbduction(r)),
            g(Angle::HipInternalRotation(r)),
            g(Angle::Knee(r)),
            g(Angle::AnklePlantarflexion(r)),
            g(Angle::AnkleInversion(r)),
            g(Angle::TibiaRotation(r)),
            g(Angle::LumbarFlexion),
            g(Angle::ShoulderPlane(r)),
            g(Angle::ShoulderElevation(r)),
            g(Angle::ShoulderInternalRotation(r)),
            g(Angle::Elbow(r)),
            h.x,
            h.y,
            h.z
        );
    }
}

use anatomy::body::*;
#[test]
fn probe() {
    let t = BodyTables::shipped();
    let a = Body::average_man();
    println!("{a:#?}");
    for (s, h, m) in [(Sex::Male, 1.75, 75.0), (Sex::Female, 1.63, 62.0), (Sex::Female, 1.735, 62.0),(Sex::Male,1.87,110.0)] {
        let r = Body::new(&BodySpec::new(s, h, m), t).unwrap();
        println!("{s:?} {h} standing {:.4}", r.body.standing_height_m());
        for l in r.lengths { println!("  {:?} {:.1} person {:.1} method {:.1}", l.part, l.mid_m*1e3, l.person_sd_m*1e3, l.method_sd_m*1e3); }
        println!("{:?} {:?}", r.body.path_scale, r.body.volume_scale);
        for n in r.notes { println!("  {n}"); }
    }
    let l = &t.of(Sex::Male).lengths["thigh"];
    let s = BodySpec::new(Sex::Male, 1.7562, 80.0).with_tape(Tape::Thigh, l.at_m(1.7562)+2.0*l.residual_sd_m);
    let r = Body::new(&s, t).unwrap();
    let mid = Body::new(&BodySpec::new(Sex::Male, 1.7562, 80.0), t).unwrap();
    for (l,m) in r.lengths.iter().zip(mid.lengths) { println!("  {:?} {:.1} was {:.1} person {:.1}", l.part, l.mid_m*1e3, m.mid_m*1e3, l.person_sd_m*1e3); }
    println!("{:?}", r.percentiles);
}

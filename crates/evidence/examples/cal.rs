fn main(){
 let lib=library::Library::embedded().unwrap();
 let t=std::time::Instant::now();
 let b=evidence::bench::Bench::shipped(&lib); eprintln!("bench {:?}",t.elapsed());
 let c=b.calibrate(); eprintln!("cal {:?}",t.elapsed());
 println!("{}",c.table());
 let e=b.evidence(&c.all,Some(&c)); eprintln!("all {:?}",t.elapsed());
 for k in &e.classes{println!("{k:?}");}
 println!("{:?}",e.order);
 for i in &b.issues{println!("{i}");}
 if std::env::args().count()>1 { for r in &e.rows{ println!("{} {} {} {} {} {} {:.2} {} | {} {}",if r.right{"   "}else{"XXX"},if r.apart.is_empty(){" "}else{"A"},r.study,r.contrast,r.class,r.predicted,r.margin,r.inside_range,r.rule_convention.right,r.rule_shortening.right);} for s in &e.studies{println!("{}",s.sentence);} }
}

use evidence::import::*;
fn main(){
 let a:Vec<String>=std::env::args().collect();
 let t=|i:usize|std::fs::read_to_string(&a[i]).unwrap();
 let (s,c,m)=(t(1),t(2),t(3));
 let lib=library::Library::embedded().unwrap();
 let out=import(&lib,Source{file:&a[1],text:&s},Source{file:&a[2],text:&c},Some(Source{file:&a[3],text:&m}));
 for i in &out.issues{println!("{i}");}
 let mut ok=0;let mut n=0;
 for f in &out.conditions{ if let Some(g)=f.agree(){n+=1; if g{ok+=1}else{println!("{} {} read {:?} matched {:?} {:.2}",f.study,f.condition,f.read,f.matched,f.confidence)}}else{println!("no reading {} {}",f.study,f.condition)}}
 println!("{ok} of {n}");
 std::fs::create_dir_all(&a[4]).unwrap();
 for st in &out.studies{ std::fs::write(format!("{}/{}.toml",a[4],st.id),evidence::format::write(st).unwrap()).unwrap();}
}

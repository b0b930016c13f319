fn main() {
    let dir = std::env::args().nth(1).unwrap();
    let port: u16 = std::env::args().nth(2).unwrap().parse().unwrap();
    let app = std::sync::Arc::new(app::App::open(std::path::Path::new(&dir)).unwrap_or_else(|e| panic!("{e}")));
    let rt = tokio::runtime::Runtime::new().unwrap();
    rt.block_on(app::serve(app, ([127, 0, 0, 1], port).into(), |a| println!("{a}"))).unwrap();
}

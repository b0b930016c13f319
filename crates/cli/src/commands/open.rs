//! `open`: the app in the browser of this machine.

use super::End;
use crate::folder::{Data, help};
use app::{App, Login};
use desk::problem::{Problem, Report};
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::process::{Command, Stdio};
use std::sync::Arc;

/// The app, in the browser of this machine
#[derive(clap::Args, Debug, Default)]
#[command(
    long_about = "Opens the app in your browser: movements, muscles, clients and weeks with figures you can change by \
                  hand. It runs on this machine alone, asks nothing of any other machine and sends nothing anywhere. \
                  Ctrl-C in this window ends it.",
    after_long_help = help("Example: another port, and no browser started
  lengthwise open --port 4100 --no-browser

Example: also for the tablet in the gym, behind a password
  lengthwise open --listen 0.0.0.0")
)]
pub struct Args {
    /// Port on this machine; a free one near 4044 without it
    #[arg(long, value_name = "N")]
    port: Option<u16>,
    /// Prints the address and starts no browser
    #[arg(long)]
    no_browser: bool,
    /// Also answers other machines in the building at this address (for instance 0.0.0.0); asks for a password first
    #[arg(long, value_name = "ADDR")]
    listen: Option<IpAddr>,
    #[command(flatten)]
    data: Data,
}

/// First port tried, and how many after it.
const PORTS: std::ops::Range<u16> = 4044..4064;

impl Args {
    pub fn run(&self) -> End {
        let mut app = App::open(&self.data.folder()?)?;
        if let Some(at) = self.listen.filter(|a| !a.is_loopback()) {
            app = app.behind(password(at)?);
        }
        let app = Arc::new(app);
        let ip = self.listen.unwrap_or(Ipv4Addr::LOCALHOST.into());
        let port = match self.port {
            Some(port) => port,
            None => PORTS.into_iter().find(|p| is_free(ip, *p)).unwrap_or(0),
        };
        let at = SocketAddr::new(ip, port);
        let runtime =
            tokio::runtime::Runtime::new().map_err(|e| Report::internal(format!("no threads to serve pages: {e}")))?;
        let browser = !self.no_browser;
        let served = runtime.block_on(app::serve(app, at, |bound| {
            // "Every address of this machine" is none that a browser can open.
            let shown = match bound.ip().is_unspecified() {
                true => SocketAddr::new(Ipv4Addr::LOCALHOST.into(), bound.port()),
                false => bound,
            };
            let address = format!("http://{shown}/");
            println!("Lengthwise is open at {address}");
            if bound.ip().is_unspecified() {
                println!("From other machines: http://ADDRESS-OF-THIS-MACHINE:{}/", bound.port());
            }
            println!("Ctrl-C ends it.");
            if browser {
                start_browser(&address);
            }
        }));
        served.map_err(|e| {
            let problem = Problem::error(format!("port {port}"), format!("cannot be opened: {e}"));
            Report::from(problem.remedy("choose another with --port N"))
        })
    }
}

/// Asks for the password of an open address, after saying what it exposes.
fn password(at: IpAddr) -> Result<Login, Report> {
    println!(
        "Opening {at}: every machine that reaches it sees the password page, and whoever knows the password sees and changes\n\
         all clients. The connection is not encrypted: use it in your own building only, never on a public network."
    );
    let typed = match std::env::var("LENGTHWISE_PASSWORD") {
        Ok(p) if !p.is_empty() => p,
        _ => {
            println!("Password, at least {} characters (shown while you type):", app::SHORTEST);
            let mut line = String::new();
            std::io::stdin().read_line(&mut line).map_err(|e| Problem::error("password", e.to_string()))?;
            line.trim_end_matches(['\r', '\n']).to_string()
        }
    };
    Login::new(&typed).map_err(|e| Problem::error("password", e).remedy("choose a longer one").into())
}

fn is_free(ip: IpAddr, port: u16) -> bool {
    std::net::TcpListener::bind((ip, port)).is_ok()
}

/// Asks the system to show an address; when it cannot, the printed address is enough.
fn start_browser(address: &str) {
    let (program, args): (&str, &[&str]) = if cfg!(target_os = "macos") {
        ("open", &[])
    } else if cfg!(target_os = "windows") {
        ("cmd", &["/C", "start", ""])
    } else {
        ("xdg-open", &[])
    };
    let _ = Command::new(program).args(args).arg(address).stdout(Stdio::null()).stderr(Stdio::null()).spawn();
}

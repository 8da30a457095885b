//! Where the page can be reached: this machine alone, or the local network when that is asked for.

use std::io::ErrorKind;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener, UdpSocket};

use crate::files::Diagnostic;

/// Our choice: the first port that is free from here on, so that it seldom meets another program's and
/// is easily typed.
const FIRST_PORT: u16 = 8420;
const PORTS_TRIED: u16 = 40;

/// Addresses that no packet is sent to: asking the system from which address it would reach them tells
/// which one the local network has. RFC 5737 documentation, then the usual private networks (RFC 1918),
/// for a hotspot without a way out.
const REACHED: [Ipv4Addr; 4] = [
    Ipv4Addr::new(192, 0, 2, 1),
    Ipv4Addr::new(192, 168, 0, 1),
    Ipv4Addr::new(10, 0, 0, 1),
    Ipv4Addr::new(172, 16, 0, 1),
];

/// Which address is opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum On {
    /// This machine alone.
    Loopback,
    /// The address that this machine has in the local network.
    Lan,
    /// The address named.
    Address(IpAddr),
}

impl On {
    /// Reads `lan` or an address.
    ///
    /// # Errors
    /// When it is neither, or stands for all addresses at once.
    pub fn parse(text: &str) -> Result<Self, Diagnostic> {
        let bad = |title: String| {
            Diagnostic::choice(title)
                .expected("--on lan, or an address of this machine as in --on 192.168.1.20")
        };
        if text == "lan" {
            return Ok(Self::Lan);
        }
        let address: IpAddr =
            text.parse().map_err(|_| bad(format!("--on: `{text}` is no address")))?;
        if address.is_unspecified() {
            return Err(bad(format!("--on: `{text}` stands for every address of this machine"))
                .remedy("name the one that the phones use"));
        }
        Ok(Self::Address(address))
    }

    fn address(self) -> Result<IpAddr, Diagnostic> {
        match self {
            Self::Loopback => Ok(IpAddr::V4(Ipv4Addr::LOCALHOST)),
            Self::Address(address) => Ok(address),
            Self::Lan => lan_address().ok_or_else(|| {
                Diagnostic::choice("this machine has no address in a local network")
                    .remedy("join one, or open a hotspot, or name the address with `--on ADDRESS`")
            }),
        }
    }

    /// Opens the port: the one wanted, or the first that is free.
    ///
    /// # Errors
    /// When the address is not one of this machine, or the port is taken.
    pub fn open(self, wanted: Option<u16>) -> Result<Opened, Diagnostic> {
        let address = self.address()?;
        let ports = match wanted {
            Some(port) => port..=port,
            None => FIRST_PORT..=FIRST_PORT + PORTS_TRIED,
        };
        let mut last = None;
        for port in ports {
            match TcpListener::bind(SocketAddr::new(address, port)) {
                Ok(listener) => {
                    let at = listener.local_addr().unwrap_or(SocketAddr::new(address, port));
                    return Ok(Opened { listener, at });
                }
                Err(error) if error.kind() == ErrorKind::AddrInUse => last = Some((port, error)),
                Err(error) => {
                    return Err(Diagnostic::choice(format!(
                        "{address}, port {port}, cannot be opened: {error}"
                    ))
                    .remedy(
                        "name an address of this machine with `--on`, or a port with `--port`",
                    ));
                }
            }
        }
        let port = last.map_or(FIRST_PORT, |(port, _)| port);
        Err(Diagnostic::choice(format!("port {port} of {address} is in use")).remedy(
            "is this table served already? End that program, or choose a port with `--port`: \
             links printed before then hold the old one",
        ))
    }
}

/// The address from which the system would send into the local network.
fn lan_address() -> Option<IpAddr> {
    REACHED.iter().find_map(|&there| {
        let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
        socket.connect((there, 9)).ok()?;
        let own = socket.local_addr().ok()?.ip();
        (!own.is_loopback() && !own.is_unspecified()).then_some(own)
    })
}

/// A port that is open.
#[derive(Debug)]
pub struct Opened {
    /// What listens.
    pub listener: TcpListener,
    /// Where.
    pub at: SocketAddr,
}

impl Opened {
    /// The beginning of every link.
    #[must_use]
    pub fn origin(&self) -> String {
        format!("http://{}", self.at)
    }

    /// How a browser may name this server in its requests. A page of another name that was made to lead
    /// here (DNS rebinding) names itself, and is refused.
    #[must_use]
    pub fn hosts(&self) -> Vec<String> {
        let mut hosts = vec![self.at.to_string()];
        if self.at.ip().is_loopback() {
            hosts.push(format!("localhost:{}", self.at.port()));
        }
        hosts
    }
}

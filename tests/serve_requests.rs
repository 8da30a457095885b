//! A table as the network sees it: who is answered, what is refused, what every response carries.

use std::error::Error;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use crate::common::starter_bench;
use crate::common::table::{Reply, SCORED, ServedTable, form, planned};

type Fallible = Result<(), Box<dyn Error>>;

fn served() -> Result<(tempfile::TempDir, ServedTable), Box<dyn Error>> {
    let (folder, bench) = starter_bench()?;
    planned(&bench, "ann, bo, cy", &SCORED)?;
    let table = ServedTable::start(&bench)?;
    Ok((folder, table))
}

/// Every response, also of what is refused: nothing is kept, told on, framed, or run but our own.
fn is_sealed(reply: &Reply) {
    let policy = reply.field("content-security-policy").unwrap_or_default();
    assert!(policy.contains("default-src 'none'") && !policy.contains("unsafe-eval"), "{policy}");
    assert!(!policy.contains("script-src") || policy.contains("script-src 'self'"), "{policy}");
    assert!(policy.contains("frame-ancestors 'none'"), "{policy}");
    for (name, value) in [
        ("cache-control", "no-store"),
        ("referrer-policy", "no-referrer"),
        ("x-content-type-options", "nosniff"),
        ("x-frame-options", "deny"),
    ] {
        assert_eq!(reply.field(name), Some(value), "{}", reply.head);
    }
    assert!(reply.field("set-cookie").is_none(), "{}", reply.head);
}

#[test]
fn every_response_is_sealed_and_no_page_holds_a_script() -> Fallible {
    let (_folder, table) = served()?;
    let pages = [
        table.taster(0).to_owned(),
        format!("{}/state", table.taster(0)),
        table.host.clone(),
        format!("{}/links", table.host),
        format!("{}/reveal", table.host),
        "/a/table.css".to_owned(),
        "/a/taster.js".to_owned(),
        "/a/host.js".to_owned(),
    ];
    for path in pages {
        let reply = table.get(&path)?;
        assert_eq!(reply.status, 200, "{path}");
        is_sealed(&reply);
        if reply.field("content-type").is_some_and(|kind| kind.starts_with("text/html")) {
            for inline in ["<script>", "onclick", "onload", " style=\"", "<style", "javascript:"] {
                assert!(!reply.body.contains(inline), "{path} holds {inline}");
            }
            assert!(
                !reply.body.contains("http://www") && !reply.body.contains("https://"),
                "{path}"
            );
        }
    }
    is_sealed(&table.get("/nothing")?);
    is_sealed(&table.ask("PUT", table.taster(0), &[], "")?);
    Ok(())
}

#[test]
fn a_wrong_link_is_nothing_then_too_much_and_right_ones_work_on() -> Fallible {
    let (_folder, table) = served()?;
    let token = table.taster(0).rsplit('/').next().unwrap_or_default().to_owned();
    assert!(token.len() * 5 >= 80 && table.host.len() == table.taster(0).len());
    let mut statuses = Vec::new();
    for n in 0..30 {
        let guess = format!("/t/{n:020}");
        statuses.push(table.get(&guess)?.status);
        assert_eq!(table.get(table.taster(0))?.status, 200, "a right link is shut out");
    }
    assert!(statuses.starts_with(&[404; 5]), "{statuses:?}");
    assert!(statuses.ends_with(&[429; 10]), "{statuses:?}");
    // Nearly right is wrong, and the host's secret opens no taster's page.
    let cut = table.taster(0).get(..table.taster(0).len() - 1).unwrap_or_default().to_owned();
    let host = table.host.replace("/h/", "/t/");
    for path in [cut, format!("{}x", table.taster(0)), host, "/t/".to_owned(), "/h/".to_owned()] {
        let status = table.get(&path)?.status;
        assert!(status == 429 || status == 404, "{path}: {status}");
    }
    Ok(())
}

#[test]
fn only_its_own_name_is_answered() -> Fallible {
    let (_folder, table) = served()?;
    let port = table.at.rsplit(':').next().unwrap_or_default().to_owned();
    for host in [table.at.clone(), format!("localhost:{port}"), format!("LOCALHOST:{port}")] {
        assert_eq!(table.ask("GET", table.taster(0), &[("Host", &host)], "")?.status, 200);
    }
    for host in ["evil.example", "127.0.0.1", "localhost", "192.168.1.20:8420", ""] {
        let reply = table.ask("GET", table.taster(0), &[("Host", host)], "")?;
        assert_eq!(reply.status, 421, "{host}");
        is_sealed(&reply);
    }
    // A request that names another server in its first line, and one that names none.
    let reply = table.raw(&format!(
        "GET http://evil.example{} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n",
        table.taster(0),
        table.at
    ))?;
    assert_eq!(reply.status, 421);
    let reply = table.raw(&format!("GET {} HTTP/1.0\r\n\r\n", table.taster(0)))?;
    assert!(reply.status == 421 || reply.status == 400, "{}", reply.status);
    Ok(())
}

#[test]
fn a_form_from_another_page_is_refused() -> Fallible {
    let (_folder, table) = served()?;
    let path = format!("{}/break", table.host);
    let body = form(&[("on", "yes")]);
    for origin in ["http://evil.example", "null", "https://127.0.0.1", "file://"] {
        let reply = table.ask("POST", &path, &[("Origin", origin)], &body)?;
        assert_eq!(reply.status, 403, "{origin}");
    }
    assert_eq!(table.ask("POST", &path, &[], &body)?.status, 403);
    let own = format!("http://{}", table.at);
    let kind = [("Origin", own.as_str()), ("Content-Type", "application/json")];
    assert_eq!(table.ask("POST", &path, &kind, "{}")?.status, 415);
    assert_eq!(table.submit(&path, &[("on", "yes")])?.status, 303);
    for method in ["PUT", "DELETE", "OPTIONS", "TRACE", "PATCH"] {
        let status = table.ask(method, table.taster(0), &[], "")?.status;
        assert!(status == 405, "{method}: {status}");
    }
    Ok(())
}

#[test]
fn what_is_sent_has_a_limit() -> Fallible {
    let (_folder, table) = served()?;
    let path = format!("{}/answer", table.taster(0));
    let long = "x".repeat(16 * 1024 + 1);
    assert_eq!(table.send(&path, &[("note", &long)])?.status, 413);
    // A body that says it is small and is not, and one that says it is huge and never comes.
    let origin = format!("http://{}", table.at);
    let reply = table.raw(&format!(
        "POST {path} HTTP/1.1\r\nHost: {}\r\nOrigin: {origin}\r\nConnection: close\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nTransfer-Encoding: chunked\r\n\r\n\
         8000\r\n{}\r\n0\r\n\r\n",
        table.at,
        "y".repeat(0x8000)
    ))?;
    assert_eq!(reply.status, 413);
    let reply = table.get(&format!("/{}", "z".repeat(20_000)));
    assert!(reply.is_err() || reply.is_ok_and(|reply| (400..500).contains(&reply.status)));
    Ok(())
}

/// Three hundred connections that send half a request and wait: they are closed, and while they stand
/// nobody else waits long.
#[test]
fn half_sent_requests_are_closed_and_hold_nobody_up() -> Fallible {
    let (_folder, table) = served()?;
    let mut slow = Vec::new();
    for n in 0..300 {
        let Ok(mut stream) = TcpStream::connect(&table.at) else { continue };
        let half = match n % 3 {
            0 => "GET /t/",
            1 => "POST /t/x/answer HTTP/1.1\r\nHost: ",
            _ => "",
        };
        let _ = stream.write_all(half.as_bytes());
        slow.push(stream);
    }
    let start = Instant::now();
    assert_eq!(table.get(table.taster(0))?.status, 200);
    assert!(start.elapsed() < Duration::from_secs(2), "{:?}", start.elapsed());
    // A body that never comes whole ends as well.
    let half_a_body = || {
        let origin = format!("http://{}", table.at);
        let start = Instant::now();
        let reply = table.raw(&format!(
            "POST {}/answer HTTP/1.1\r\nHost: {}\r\nOrigin: {origin}\r\nConnection: close\r\n\
             Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 100\r\n\r\nat=1",
            table.taster(0),
            table.at
        ));
        (reply.map(|reply| reply.status).map_err(|error| error.to_string()), start.elapsed())
    };
    let (status, after) = std::thread::scope(|scope| -> Result<_, Box<dyn Error>> {
        let half_a_body = scope.spawn(half_a_body);
        let mut closed = 0;
        for stream in &mut slow {
            stream.set_read_timeout(Some(Duration::from_secs(15)))?;
            let mut rest = Vec::new();
            closed += usize::from(!matches!(
                stream.read_to_end(&mut rest),
                Err(error) if matches!(error.kind(), std::io::ErrorKind::WouldBlock | std::io::ErrorKind::TimedOut)
            ));
        }
        assert_eq!(closed, slow.len(), "after {:?}", start.elapsed());
        half_a_body.join().map_err(|_| "the request with half a body panicked".into())
    })?;
    assert_eq!(status, Ok(408));
    assert!(after < Duration::from_secs(20), "{after:?}");
    Ok(())
}

/// More connections than are held at once wait their turn: those that send nothing are closed, and the
/// next one is served.
#[test]
fn connections_beyond_the_limit_wait_their_turn() -> Fallible {
    let (_folder, table) = served()?;
    let idle: Vec<TcpStream> = (0..650).map_while(|_| TcpStream::connect(&table.at).ok()).collect();
    assert!(idle.len() > 600, "{}", idle.len());
    let start = Instant::now();
    assert_eq!(table.get(table.taster(0))?.status, 200);
    assert!(start.elapsed() < Duration::from_secs(25), "{:?}", start.elapsed());
    Ok(())
}

#[cfg(unix)]
#[test]
fn it_ends_at_once_while_a_page_listens() -> Fallible {
    let (_folder, mut table) = served()?;
    let mut stream = TcpStream::connect(&table.at)?;
    write!(stream, "GET {}/live HTTP/1.1\r\nHost: {}\r\n\r\n", table.host, table.at)?;
    let mut first = [0; 512];
    assert!(stream.read(&mut first)? > 0);
    let start = Instant::now();
    let asked = std::process::Command::new("kill")
        .args(["-TERM", &table.program.id().to_string()])
        .status()?;
    assert!(asked.success() && table.program.wait()?.success());
    assert!(start.elapsed() < Duration::from_secs(2), "{:?}", start.elapsed());
    Ok(())
}

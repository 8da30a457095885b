//! How fast a table takes answers in: phones that send at once, each answer on disk before it is
//! confirmed.
//!
//! `cargo bench --bench table_speed [-- PHONES ANSWERS]`: 50 phones and 300 answers in all unless given,
//! then 50 phones with 300 answers each. Every phone keeps one connection and sends its next answer when
//! the one before is confirmed. The system's own wait for the disk is measured beside it.
#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

use std::error::Error;
use std::fs::OpenOptions;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::Value;
use waterflight::bench::session_folder::SessionFolder;
use waterflight::bench::starter;

type Fallible = Result<(), Box<dyn Error>>;

const PROGRAM: &str = env!("CARGO_BIN_EXE_waterflight");

fn main() -> Fallible {
    let asked: Vec<usize> = std::env::args().skip(1).filter_map(|word| word.parse().ok()).collect();
    if let [phones, answers] = asked.as_slice() {
        return measured(*phones, *answers);
    }
    measured(50, 300)?;
    measured(50, 15_000)
}

fn measured(phones: usize, answers: usize) -> Fallible {
    let folder = tempfile::tempdir()?;
    let bench = folder.path().join("bench");
    starter::start(&bench)?;
    let each = answers.div_ceil(phones);
    let names: Vec<String> = (0..phones).map(|n| format!("taster{n}")).collect();
    // Three waters in so many rounds that every phone has its answers; a code serves all tasters.
    let rounds = each.div_ceil(3).to_string();
    let plan = Command::new(PROGRAM)
        .current_dir(&bench)
        .args(["session", "plan", "--name", "many", "--attribute", "body", "--seed", "bench"])
        .args(["--water", "soft", "--water", "middle", "--water", "hard", "--rounds", &rounds])
        .args(["--tasters", &names.join(",")])
        .output()?;
    if !plan.status.success() {
        return Err(String::from_utf8_lossy(&plan.stderr).into());
    }
    let before = Instant::now();
    let mut program = Command::new(PROGRAM)
        .current_dir(&bench)
        .args(["serve", "many", "--json"])
        .stdout(Stdio::piped())
        .spawn()?;
    let found = all_sent(&mut program, &bench, each, before);
    program.kill()?;
    program.wait()?;
    let (ready, took, mut posts, memory) = found?;
    posts.sort_unstable();
    let at = |share: usize| posts.get(posts.len() * share / 100).copied().unwrap_or_default();
    let lines = SessionFolder::open(&bench, "many")?.score_log()?.lines().len();
    println!("{phones} phones, {} answers, {lines} lines on disk", posts.len());
    println!("  ready after the start   {ready:?}");
    println!("  all of them             {took:?}");
    println!("  one post, median        {:?}; 95 % within {:?}", at(50), at(95));
    println!("  memory                  {memory}");
    println!("  one wait for the disk   {:?}", wait_for_disk(folder.path())?);
    Ok(())
}

/// Time until it answers, time for all, each post, and what memory it then has.
type Found = (Duration, Duration, Vec<Duration>, String);

fn all_sent(
    program: &mut Child,
    bench: &Path,
    each: usize,
    before: Instant,
) -> Result<Found, Box<dyn Error>> {
    let mut output = BufReader::new(program.stdout.take().ok_or("no output")?);
    let mut said = String::new();
    let links: Value = loop {
        if output.read_line(&mut said)? == 0 {
            return Err("it does not serve".into());
        }
        if let Ok(links) = serde_json::from_str(&said) {
            break links;
        }
    };
    let ready = before.elapsed();
    let plan = SessionFolder::open(bench, "many")?.plan;
    let tasters = links.pointer("/tasters").and_then(Value::as_array).ok_or("no links")?;
    let start = Instant::now();
    let posts = std::thread::scope(|scope| {
        let phones: Vec<_> = tasters
            .iter()
            .map(|one| {
                let link = one.get("link").and_then(Value::as_str).unwrap_or_default();
                let name = one.get("taster").and_then(Value::as_str).unwrap_or_default();
                let cups: Vec<String> = plan
                    .trays_of(name)
                    .flat_map(|t| t.cups.iter().map(|c| format!("{}-{c}", t.number)))
                    .take(each)
                    .collect();
                scope.spawn(move || phone(link, &cups).map_err(|error| error.to_string()))
            })
            .collect();
        let mut all = Vec::new();
        for phone in phones {
            all.extend(phone.join().map_err(|_| "a phone failed".to_owned())??);
        }
        Ok::<_, String>(all)
    })?;
    let took = start.elapsed();
    let status = std::fs::read_to_string(format!("/proc/{}/status", program.id()));
    let memory = status.ok().and_then(|status| {
        let line = status.lines().find(|line| line.starts_with("VmRSS:"))?.to_owned();
        Some(line.trim_start_matches("VmRSS:").trim().to_owned())
    });
    Ok((ready, took, posts, memory.unwrap_or_else(|| "not known".to_owned())))
}

/// Sends every cup over one connection; the time of each.
fn phone(link: &str, cups: &[String]) -> Result<Vec<Duration>, Box<dyn Error>> {
    let (host, path) =
        link.trim_start_matches("http://").split_once('/').ok_or("this is no link")?;
    let mut stream = TcpStream::connect(host)?;
    stream.set_nodelay(true)?;
    let mut reader = BufReader::new(stream.try_clone()?);
    let mut times = Vec::new();
    for (n, at) in cups.iter().enumerate() {
        let body = format!("at={at}&seen=0&v0={}", n % 11);
        let start = Instant::now();
        write!(
            stream,
            "POST /{path}/answer HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\n\
             Accept: application/json\r\nContent-Type: application/x-www-form-urlencoded\r\n\
             Content-Length: {}\r\n\r\n{body}",
            body.len()
        )?;
        let mut length = 0;
        loop {
            let mut line = String::new();
            if reader.read_line(&mut line)? == 0 || line == "\r\n" {
                break;
            }
            if let Some((name, value)) = line.split_once(':')
                && name.eq_ignore_ascii_case("content-length")
            {
                length = value.trim().parse()?;
            }
        }
        let mut reply = vec![0; length];
        reader.read_exact(&mut reply)?;
        times.push(start.elapsed());
        if !String::from_utf8_lossy(&reply).contains("\"state\":\"on_disk\"") {
            return Err(format!("not on disk: {}", String::from_utf8_lossy(&reply)).into());
        }
    }
    Ok(times)
}

/// The least that one answer on disk can take: a line added and waited for, the median of fifty.
fn wait_for_disk(folder: &Path) -> Result<Duration, Box<dyn Error>> {
    let mut file = OpenOptions::new().append(true).create(true).open(folder.join("probe"))?;
    let mut times = Vec::new();
    for _ in 0..50 {
        let start = Instant::now();
        file.write_all(&[b'x'; 150])?;
        file.sync_all()?;
        times.push(start.elapsed());
    }
    times.sort_unstable();
    Ok(times.get(25).copied().unwrap_or_default())
}

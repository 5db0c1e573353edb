//! Benchmarks of the whole way from bytes to verdicts, on a generated board of about 30 MB and, if the environment
//! variable `THROUGHLINE_BOARDS` names a folder, on the largest board found there.
//!
//! `cargo bench --bench board` measures speed. In the end it runs itself once per board to tell the peak memory of
//! reading and of judging, which one process can't tell apart from what was measured before, and the processor time
//! that each reader takes: a busy machine spoils that less than the time on the wall. `cargo bench --bench board --
//! --summary` does that alone.

#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::cast_precision_loss,
    reason = "a benchmark stops on any trouble and prints its results"
)]

#[path = "../support/mod.rs"]
mod support;

use criterion::{BatchSize, BenchmarkId, Criterion, SamplingMode, Throughput};
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;
use std::time::{Duration, Instant};
use support::recorder::{self, BASE};
use support::{Generation, big};
use throughline::board::{self, Board};
use throughline::checks::{self, Facts};
use throughline::copper::Copper;
use throughline::rules::{self, RuleSet, shipped};
use throughline::source::lexer::{Lexer, TokenKind};
use throughline::source::{Limits, SourceFile};
use throughline::units::Length;

/// Argument with which the program runs itself.
const PEAK: &str = "--peak-of";
/// Argument that leaves out all but the summary of readers and memory.
const SUMMARY: &str = "--summary";
/// Stack of the threads that run foreign parsers, which recurse once per element of a list.
const DEEP: usize = 4 << 30;

struct Subject {
    name: &'static str,
    path: PathBuf,
    source: Arc<SourceFile>,
}

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    if let [_, flag, path] = arguments.as_slice()
        && flag == PEAK
    {
        return peak(Path::new(path));
    }
    let subjects: Vec<Subject> = std::iter::once(generated()).chain(largest()).collect();
    if !arguments.iter().any(|argument| argument == SUMMARY) {
        let mut criterion = Criterion::default()
            .sample_size(10)
            .warm_up_time(Duration::from_millis(500))
            .measurement_time(Duration::from_secs(3))
            .configure_from_args();
        for subject in &subjects {
            reading(&mut criterion, subject);
            copper(&mut criterion, subject);
            judging(&mut criterion, subject);
        }
        criterion.final_summary();
    }
    for subject in &subjects {
        println!("{}: {:.1} MB, {}", subject.name, megabytes(subject), subject.path.display());
        readers(subject);
        let this = std::env::current_exe().expect("the program knows its place");
        let status = Command::new(this).arg(PEAK).arg(&subject.path).status().expect("it runs itself");
        assert!(status.success());
    }
}

/// Processor time that this thread has used, where the kernel tells it (Linux).
fn processor_time() -> Duration {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    Duration::from_nanos(told.split(' ').next().and_then(|word| word.parse().ok()).unwrap_or(0))
}

/// What a way of reading does with a text.
type Parse<'a> = &'a (dyn Fn(&str) + Sync);

/// Processor time of every reader in the same run, on threads of their own, and how many times the board's reader is
/// as fast. What a reader made is dropped outside the measured time.
fn readers(subject: &Subject) {
    let text = subject.source.text();
    let measured = |times: u32, parse: Parse<'_>| {
        on_deep_stack(|| {
            let start = processor_time();
            (0..times).for_each(|_| parse(black_box(text)));
            (processor_time() - start) / times
        })
    };
    // Foreign trees are leaked, not dropped: dropping recurses and takes longer than reading.
    let lexpr = |text: &str| std::mem::forget(lexpr::from_str(text).expect("checked before"));
    let spans = |text: &str| std::mem::forget(lexpr::datum::from_reader(text.as_bytes()).expect("checked before"));
    let symbolic = |text: &str| std::mem::forget(symbolic_expressions::parser::parse_str(text).expect("a board"));
    let own = |_: &str| {
        black_box(read(&subject.source).tracks.len());
    };
    let lexer = |text: &str| {
        black_box(tokens(text));
    };
    let mut rows: Vec<(&str, Duration)> = vec![("lexer", measured(10, &lexer)), ("board", measured(10, &own))];
    if lexpr_reads(text) {
        rows.push(("lexpr", measured(2, &lexpr)));
        rows.push(("lexpr with spans", measured(1, &spans)));
    }
    rows.push(("symbolic_expressions", measured(2, &symbolic)));
    let board = rows.iter().find(|(name, _)| *name == "board").map_or(Duration::ZERO, |(_, time)| *time);
    for (name, time) in rows {
        let (seconds, ratio) = (time.as_secs_f64(), time.as_secs_f64() / board.as_secs_f64());
        println!(
            "  {name:<22}{:>8.1} ms{:>8.0} MB/s{ratio:>8.2} times the board's",
            1e3 * seconds,
            megabytes(subject) / seconds
        );
    }
}

fn megabytes(subject: &Subject) -> f64 {
    subject.source.text().len() as f64 / 1e6
}

/// The demo's base board 42 times, written beside the build.
fn generated() -> Subject {
    let board = big::tiled(&recorder::draw(&BASE), 7, 6, 4.0);
    let text = board.text(Generation::V9);
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join("generated.kicad_pcb");
    std::fs::write(&path, &text).expect("the build folder can be written");
    let source = SourceFile::new(path.display().to_string(), text);
    Subject { name: "generated", path, source: Arc::new(source) }
}

/// The largest real board.
fn largest() -> Option<Subject> {
    let mut folders = vec![PathBuf::from(std::env::var_os("THROUGHLINE_BOARDS")?)];
    let mut found: Vec<(u64, PathBuf)> = Vec::new();
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).expect("the folder of boards can be read").flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|end| end == "kicad_pcb") {
                found.push((std::fs::metadata(&path).map_or(0, |data| data.len()), path));
            }
        }
    }
    let (_, path) = found.into_iter().max()?;
    let text = std::fs::read_to_string(&path).expect("a board is text");
    let source = SourceFile::new(path.display().to_string(), text);
    Some(Subject { name: "largest-real", path, source: Arc::new(source) })
}

fn read(source: &Arc<SourceFile>) -> Board {
    board::read("board", Arc::clone(source)).unwrap_or_else(|fault| panic!("{}", fault.message))
}

fn tokens(text: &str) -> usize {
    let mut lexer = Lexer::new(text, &Limits::default());
    let mut count = 0;
    while !matches!(lexer.next_token().kind, TokenKind::End | TokenKind::Fault(_)) {
        count += 1;
    }
    count
}

fn reading(criterion: &mut Criterion, subject: &Subject) {
    let text = subject.source.text();
    let mut group = criterion.benchmark_group("reading");
    group.sampling_mode(SamplingMode::Flat);
    group.throughput(Throughput::Bytes(text.len() as u64));
    group.bench_function(BenchmarkId::new("lexer", subject.name), |bench| bench.iter(|| tokens(black_box(text))));
    group.bench_function(BenchmarkId::new("board", subject.name), |bench| {
        bench.iter_with_large_drop(|| read(&subject.source));
    });
    // Other readers of nested lists, in the same run. lexpr's spans come from its reader interface alone: from a
    // string it counts lines anew for every position. It fails on atoms of older generations.
    if lexpr_reads(text) {
        group.bench_function(BenchmarkId::new("lexpr", subject.name), |bench| {
            bench.iter_custom(|times| deep(text, times, |text| lexpr::from_str(text).expect("checked before")));
        });
        group.bench_function(BenchmarkId::new("lexpr with spans", subject.name), |bench| {
            bench.iter_custom(|times| {
                deep(text, times, |text| lexpr::datum::from_reader(text.as_bytes()).expect("checked before"))
            });
        });
    }
    group.bench_function(BenchmarkId::new("symbolic_expressions", subject.name), |bench| {
        bench.iter_custom(|times| {
            deep(text, times, |text| symbolic_expressions::parser::parse_str(text).expect("a board"))
        });
    });
    group.finish();
}

fn lexpr_reads(text: &str) -> bool {
    let reads = |text: &str| lexpr::from_str(text).map(std::mem::forget).is_ok();
    on_deep_stack(|| reads(text))
}

/// Times a foreign parser on a thread of its own; what it made is dropped outside the measured time.
fn deep<T>(text: &str, times: u64, parse: impl Fn(&str) -> T + Sync) -> Duration {
    on_deep_stack(|| {
        let mut taken = Duration::ZERO;
        for _ in 0..times {
            let start = Instant::now();
            let parsed = black_box(parse(black_box(text)));
            taken += start.elapsed();
            drop(parsed);
        }
        taken
    })
}

fn on_deep_stack<T: Send>(run: impl FnOnce() -> T + Send) -> T {
    std::thread::scope(|scope| {
        let thread = std::thread::Builder::new().stack_size(DEEP).spawn_scoped(scope, run);
        thread.expect("a thread starts").join().expect("it ends")
    })
}

fn copper(criterion: &mut Criterion, subject: &Subject) {
    let board = read(&subject.source);
    let mut group = criterion.benchmark_group("copper");
    group.sampling_mode(SamplingMode::Flat);
    group.bench_function(BenchmarkId::new("items and index", subject.name), |bench| {
        bench.iter_batched(
            || Copper::new(&board),
            |copper| {
                copper.items();
                copper
            },
            BatchSize::PerIteration,
        );
    });
    let with_items = || {
        let copper = Copper::new(&board);
        copper.items();
        copper
    };
    group.bench_function(BenchmarkId::new("islands", subject.name), |bench| {
        bench.iter_batched(
            with_items,
            |copper| {
                black_box((copper.islands().len(), copper.connections().len(), copper.shorts().len()));
                copper
            },
            BatchSize::PerIteration,
        );
    });
    group.bench_function(BenchmarkId::new("pairs", subject.name), |bench| {
        bench.iter_batched(
            with_items,
            |copper| {
                black_box(copper.pairs().pairs.len());
                copper
            },
            BatchSize::PerIteration,
        );
    });
    group.bench_function(BenchmarkId::new("routes and stubs of all nets", subject.name), |bench| {
        bench.iter_batched(
            with_items,
            |copper| {
                for (net, _) in board.nets.iter() {
                    black_box((copper.routes(net).routes.len(), copper.stubs(net).barrels.len()));
                }
                copper
            },
            BatchSize::PerIteration,
        );
    });
    group.bench_function(BenchmarkId::new("reference of all pairs", subject.name), |bench| {
        let prepared = || {
            let copper = with_items();
            for pair in &copper.pairs().pairs {
                black_box((copper.routes(pair.p), copper.routes(pair.n)));
            }
            copper
        };
        bench.iter_batched(
            prepared,
            |copper| {
                for pair in &copper.pairs().pairs {
                    for route in [pair.p, pair.n].into_iter().flat_map(|net| &copper.routes(net).routes) {
                        black_box(copper.reference(route, &[pair.p, pair.n], Length::mm(0.2)).len());
                    }
                }
                copper
            },
            BatchSize::PerIteration,
        );
    });
    group.finish();
}

fn rule_set() -> RuleSet {
    let schemas: Vec<_> = checks::ALL.iter().map(|check| check.info().schema).collect();
    let set = shipped("serial-16g").expect("it is shipped");
    let mut load = |_: &str| Err("a shipped set extends shipped sets only".to_owned());
    rules::read(set, &schemas, &mut load).unwrap_or_else(|faults| panic!("{} faults in a shipped set", faults.len()))
}

/// Everything that `check` does between the text and the report.
fn judge(board: &Board, rules: &RuleSet) -> usize {
    let copper = Copper::new(board);
    let proposed = checks::proposed_pairs(copper.pairs());
    let selections = checks::select(rules, &board.name, &board.nets, &proposed).selections;
    let facts = Facts::new(&copper, selections);
    checks::run(&facts, rules).iter().map(|run| run.verdicts.len()).sum()
}

fn judging(criterion: &mut Criterion, subject: &Subject) {
    let board = read(&subject.source);
    let rules = rule_set();
    let mut group = criterion.benchmark_group("judging");
    group.sampling_mode(SamplingMode::Flat);
    group.bench_function(BenchmarkId::new("checks", subject.name), |bench| bench.iter(|| judge(&board, &rules)));
    group.bench_function(BenchmarkId::new("whole check", subject.name), |bench| {
        // The program as a user runs it: process, file, report.
        bench.iter(|| {
            let program = env!("CARGO_BIN_EXE_throughline");
            let run = Command::new(program).arg("check").arg(&subject.path).args(["--rules", "serial-16g"]).output();
            let report = run.expect("it runs").stdout;
            // A run that gave up early would look fast.
            assert!(String::from_utf8_lossy(&report).contains("net-open"), "the board was not judged");
            report.len()
        });
    });
    group.finish();
}

/// Peak memory of reading and of judging one board, told by the kernel where it tells (Linux).
fn peak(path: &Path) {
    let high_water = || {
        let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
        let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap_or("0 kB");
        line.trim().trim_end_matches(" kB").parse::<f64>().unwrap_or(0.0) * 1024.0 / 1e6
    };
    let start = high_water();
    let text = std::fs::read_to_string(path).expect("a board is text");
    let size = text.len() as f64 / 1e6;
    let source = Arc::new(SourceFile::new(path.display().to_string(), text));
    let board = read(&source);
    let after_reading = high_water();
    let verdicts = judge(&board, &rule_set());
    let after_judging = high_water();
    let ratio = |peak: f64| (peak - start) / size;
    println!(
        "{}: {size:.1} MB; peak after reading {after_reading:.0} MB ({:.1} times the file), \
         after judging {after_judging:.0} MB ({:.1} times), {verdicts} verdicts",
        path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned()),
        ratio(after_reading),
        ratio(after_judging)
    );
}

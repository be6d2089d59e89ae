//! What an estimate says, word for word: a change of any figure or sentence shows in review. It proves nothing about the
//! figures; their checks stand elsewhere.

use std::{
    io::Write,
    process::{Command, Stdio},
};

/// The text of `hitchwright estimate` for one job of the demo.
fn told(job: &str) -> String {
    let job: serde_json::Value = serde_json::from_str(job).expect("a demo job");
    let mut child = Command::new(env!("CARGO_BIN_EXE_hitchwright"))
        .args(["estimate", "-", "--budget", "preview"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program");
    child.stdin.take().expect("its input").write_all(job["spec"].to_string().as_bytes()).expect("the spec");
    let output = child.wait_with_output().expect("an estimate");
    assert!(output.status.success());
    String::from_utf8(output.stdout).expect("text")
}

#[test]
fn the_estimate_of_the_puppet_stage() {
    insta::assert_snapshot!(told(include_str!("../../seed-data/demo/puppet-stage.json")));
}

#[test]
fn the_estimate_of_two_trailers_for_cargo_bikes() {
    insta::assert_snapshot!(told(include_str!("../../seed-data/demo/bike-courier.json")));
}

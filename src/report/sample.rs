//! Hand-written logs for tests of reports.

use super::*;
use crate::objects::Class;
use crate::passes::Left;
use crate::settings::{PassName, Settings};
use crate::survey::{Finding, Kind, Severity};

fn place(x: f64, y: f64) -> Place {
    Place { x_mm: x, y_mm: y, bounds_mm: [x - 2.0, y - 1.0, x + 2.0, y + 1.0] }
}

pub fn finding(kind: Kind, object: u32, pass: Option<PassName>) -> Finding {
    Finding {
        kind,
        severity: Severity::Fault,
        objects: vec![object],
        place: place(-0.4, 20.0),
        measured: 0.3,
        limit: 1.0,
        unit: "mm".into(),
        source: "J".into(),
        pass,
        words: "0.3 mm where 1.0 mm is wanted".into(),
    }
}

pub fn change(pass: PassName, object: u32, added: u32, removed: u32) -> Change {
    Change {
        id: format!("{}-o{object}", pass.name()),
        pass,
        objects: vec![object],
        place: place(12.0, 31.5),
        before: "0.3 mm under the border".into(),
        after: "1.1 mm under the border".into(),
        reason: "a cap gives way when it is sewn".into(),
        source: "J".into(),
        stitches_added: added,
        stitches_removed: removed,
        trims_added: 0,
        grade: Grade::Safe,
    }
}

pub fn sound() -> Log {
    let profile = crate::garment::built_in("finished-cap").unwrap();
    let facts = TapeFacts {
        stitches: 11_310,
        trims: 63,
        jumps: 2,
        stops: 4,
        width_mm: 90.1,
        height_mm: 52.0,
        bounds_mm: [-45.0, 0.0, 45.1, 52.0],
    };
    let sewing = Sewing { seconds: 1355.0, top_thread_m: 32.1, bobbin_thread_m: 19.3 };
    let names = ["harbour navy", "tide teal", "brass", "harbour navy"];
    let stop = |(stop, name): (u32, &str)| StopLine::new(stop, stop, 2800, Some(name));
    Log {
        schema_version: SCHEMA_VERSION,
        tool: Tool::this(),
        input: FileFacts::of(b"in"),
        output: FileFacts::of(b"in"),
        result: State::Sound,
        tape: BeforeAfter { before: facts, after: facts },
        objects: vec![ObjectLine {
            id: 3,
            class: Class::Satin,
            stop: 0,
            first: Some(0),
            last: Some(99),
            confidence: 0.98,
            held: false,
            place: place(0.0, 10.0),
        }],
        unsure_share: 0.0,
        findings: BeforeAfter::default(),
        changes: vec![],
        left: vec![],
        short: vec![],
        undone: vec![],
        proof: None,
        stop_order: (0..).zip(names).map(stop).collect(),
        stops_added_if_element: None,
        sewing: BeforeAfter { before: sewing, after: sewing },
        cautions: cautions(&facts, &profile.numbers, false),
        warnings: vec![],
        settings: InForce::of(&Settings::new(profile)),
    }
}

pub fn mended() -> Log {
    let mut log = sound();
    log.result = State::Mended;
    log.output = FileFacts::of(b"out");
    log.tape.after.stitches = 13_902;
    log.sewing.after = Sewing { seconds: 1583.0, top_thread_m: 36.0, bobbin_thread_m: 21.6 };
    let kinds = [(Kind::UprightFill, 1), (Kind::ThinOverlap, 9), (Kind::EdgeRunMissing, 41)];
    for (kind, times) in kinds {
        log.findings.before.extend((0..times).map(|o| finding(kind, o, Some(PassName::Overlap))));
    }
    log.changes = vec![
        change(PassName::TurnFill, 4, 300, 100),
        change(PassName::Overlap, 3, 0, 0),
        change(PassName::EdgeRun, 3, 2430, 38),
        change(PassName::Sequence, 60, 0, 0),
    ];
    let exposure = |scale: f64| Exposure {
        scale,
        area_mm2: BeforeAfter {
            before: Spread { mean: 4.21 * scale, p95: 6.0 * scale },
            after: Spread { mean: 0.12 * scale, p95: 0.5 * scale },
        },
        widest_gap_mm: BeforeAfter::default(),
    };
    log.proof = Some(Proof {
        draws: 200,
        exposure: [0.5, 1.0, 2.0].map(exposure).to_vec(),
        junctions: vec![],
        recoloured_mm2: 0.0,
        newly_covered_mm2: 0.0,
        rounds: 1,
    });
    log.stop_order.rotate_right(1);
    for (stop, line) in (0..).zip(&mut log.stop_order) {
        line.stop = stop;
    }
    log
}

pub fn needs_eyes() -> Log {
    let mut log = mended();
    log.result = State::NeedsEyes;
    log.findings.after = vec![finding(Kind::ThinDetailOnSeam, 7, None)];
    log.left = vec![Left {
        pass: PassName::Overlap,
        objects: vec![5, 6],
        reason: "the cover is too narrow to hide more than 0.6 mm".into(),
    }];
    log.undone =
        vec![Undone { change: "guard-o9".into(), reason: "a stitch would have shown".into() }];
    log
}

//! Pictures of failing places, for people: set CROWNMEND_PICTURES to a folder.

use std::fmt::Write;

use super::lines::Stitch;
use super::measure::Trial;
use super::plane::P;

/// Half the side of the picture, mm.
const REACH: f64 = 7.0;
const COLOURS: [&str; 7] =
    ["#1d3557", "#3b8686", "#b8862b", "#8c2f39", "#5a5a5a", "#6a4c93", "#2f6f3e"];

/// Writes `NAME-NUMBER.svg`: the original above, the mended tape below, later stitches over earlier
/// ones, needle points as dots, the place as a ring. Does nothing without CROWNMEND_PICTURES.
pub fn around(name: &str, number: usize, trial: &Trial, place: P) {
    let Some(folder) = std::env::var_os("CROWNMEND_PICTURES") else { return };
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"900\" height=\"1820\" \
         viewBox=\"0 0 {0} {1}\"><rect width=\"100%\" height=\"100%\" fill=\"#f4f1ea\"/>",
        2.0 * REACH,
        4.0 * REACH + 0.3
    );
    let halves = [(&trial.world.original.stitches, 0.0), (&trial.out.stitches, 2.0 * REACH + 0.3)];
    for (stitches, down) in halves {
        panel(&mut svg, stitches, place, down);
    }
    svg.push_str("</svg>\n");
    let file = std::path::Path::new(&folder).join(format!("{name}-{number:02}.svg"));
    std::fs::create_dir_all(&folder)
        .and_then(|()| std::fs::write(&file, svg))
        .unwrap_or_else(|e| panic!("{}: {e}", file.display()));
}

fn panel(svg: &mut String, stitches: &[Stitch], place: P, down: f64) {
    let at = |p: P| [p[0] - place[0] + REACH, place[1] - p[1] + REACH + down];
    let inside = |p: P| (0..2).all(|axis| (p[axis] - place[axis]).abs() <= REACH);
    let mut line = |text: std::fmt::Arguments| {
        svg.write_fmt(text).unwrap_or_else(|e| panic!("text cannot be written: {e}"));
    };
    line(format_args!(
        "<svg y=\"{down}\" width=\"{0}\" height=\"{0}\" viewBox=\"0 {down} {0} {0}\">",
        2.0 * REACH
    ));
    for s in stitches.iter().filter(|s| inside(s.a) || inside(s.b)) {
        let ([x1, y1], [x2, y2]) = (at(s.a), at(s.b));
        let colour = COLOURS[s.stop % COLOURS.len()];
        line(format_args!(
            "<line x1=\"{x1:.2}\" y1=\"{y1:.2}\" x2=\"{x2:.2}\" y2=\"{y2:.2}\" stroke=\"{colour}\" \
             stroke-width=\"0.08\" stroke-opacity=\"0.7\"><title>{}</title></line>\
             <circle cx=\"{x2:.2}\" cy=\"{y2:.2}\" r=\"0.07\" fill=\"{colour}\"/>",
            s.rank
        ));
    }
    let [x, y] = at(place);
    line(format_args!(
        "<circle cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"0.6\" fill=\"none\" stroke=\"#d00000\" \
         stroke-width=\"0.1\"/></svg>"
    ));
}

//! Needle points of an object's top stitching that are lost, moved or left out.

use pretty_assertions::assert_eq;

use super::*;

#[test]
fn a_lost_stitch_is_caught() {
    for lost in [1, 10] {
        let thin = edited(above(), |needles| drop(needles.drain(40..40 + lost)));
        let found = against(vec![ground(), thin, apart()], &[]);
        assert_caught(&found, "of its top are lost", 2);
    }
}

#[test]
fn a_lost_stitch_is_caught_where_others_were_moved() {
    // Every lower needle point of the satin's middle reaches 0.8 mm further, and one is missing.
    let moved = |lost: usize| {
        edited(above(), |needles| {
            for needle in &mut needles[30..60] {
                if needle.at.y == 90 {
                    needle.at.y -= 8;
                }
            }
            needles.drain(44..44 + lost);
        })
    };
    let changes = [change(PassName::Overlap, 2)];
    let lost = |found: &[Violation]| found.iter().any(|v| v.words.contains("are lost"));
    assert!(!lost(&against(vec![ground(), moved(0), apart()], &changes)));
    for count in [1, 8] {
        let found = against(vec![ground(), moved(count), apart()], &changes);
        assert_caught(&found, "of its top are lost", 2);
    }
}

/// Rows that a step joins may be joined by a V: two needle points become one.
#[test]
fn steps_between_rows_may_go_where_rows_are_moved() {
    let rows = |steps: bool| {
        edited(apart(), |needles| {
            needles.clear();
            for row in 0..20 {
                let (y, side) = (160 + 2 * row, if row % 2 == 0 { 0 } else { 60 });
                if steps || row == 0 {
                    needles.push(Needle::new(Pt::new(20 + side, y)));
                }
                needles.push(Needle::new(Pt::new(80 - side, y)));
            }
        })
    };
    let before = Sample::of(vec![ground(), above(), rows(true)]);
    let after = Sample::of(vec![ground(), above(), rows(false)]);
    let lost = |changes: &[Change]| {
        let (_, found) = judge_all(&before, &after, changes);
        found.iter().any(|v| v.words.contains("of its top are lost"))
    };
    assert!(!lost(&[change(PassName::Overlap, 3)]));
    assert!(lost(&[]));
}

/// A fill may begin with a way along its rows; where another row comes first, it goes another way.
#[test]
fn the_way_to_the_first_row_may_change_where_rows_lie_over_it() {
    let rows = |way: &[(i32, i32)]| {
        edited(apart(), |needles| {
            needles.clear();
            needles.extend(way.iter().map(|(x, y)| Needle::new(Pt::new(*x, *y))));
            for row in 0..30 {
                let (y, side) = (200 - 2 * row, if row % 2 == 0 { 60 } else { 0 });
                needles.push(Needle::new(Pt::new(20 + side, y)));
                needles.push(Needle::new(Pt::new(80 - side, y)));
            }
        })
    };
    let lost = |way: &[(i32, i32)]| {
        let before = Sample::of(vec![ground(), above(), rows(way)]);
        let after = Sample::of(vec![ground(), above(), rows(&[])]);
        let (_, found) = judge_all(&before, &after, &[change(PassName::Overlap, 3)]);
        found.iter().any(|v| v.words.contains("of its top are lost"))
    };
    // Under the rows that come next, and 10 mm from them, where nothing lies over it.
    assert!(!lost(&[(30, 199), (55, 199)]));
    assert!(lost(&[(30, 300), (55, 300)]));
}

/// What a clean-up leaves out must have lain on the way that the thread goes on.
#[test]
fn needle_points_may_be_left_out_where_the_thread_stays() {
    let line = |aside: i32| {
        edited(apart(), |needles| {
            needles.clear();
            // A crossing to and fro, and every fifth with a point on its way, or beside it.
            for row in 0..40 {
                let (from, to) = if row % 2 == 0 { (20, 80) } else { (80, 20) };
                needles.push(Needle::new(Pt::new(from, 160 + 2 * row)));
                if row % 5 == 2 {
                    needles.push(Needle::new(Pt::new(50, 160 + 2 * row + aside)));
                }
                needles.push(Needle::new(Pt::new(to, 160 + 2 * row)));
            }
        })
    };
    let without =
        |aside: i32| edited(line(aside), |needles| needles.retain(|needle| needle.at.x != 50));
    let lost = |aside: i32, changes: &[Change]| {
        let before = Sample::of(vec![ground(), above(), line(aside)]);
        let after = Sample::of(vec![ground(), above(), without(aside)]);
        let (_, found) = judge_all(&before, &after, changes);
        found.iter().any(|v| v.words.contains("of its top are lost"))
    };
    assert!(!lost(0, &[change(PassName::MergeShort, 3)]));
    assert!(lost(9, &[change(PassName::MergeShort, 3)]));
    assert!(lost(0, &[]));
}

#[test]
fn a_column_that_is_wider_all_along_has_lost_nothing() {
    let wider = edited(above(), |needles| {
        for needle in needles {
            needle.at = needle.at + Pt::new(0, if needle.at.y > 100 { 1 } else { -1 });
        }
    });
    let lost = |changes: &[Change]| {
        let found = against(vec![ground(), wider.clone(), apart()], changes);
        found.iter().any(|v| v.words.contains("are lost"))
    };
    assert!(!lost(&[change(PassName::WidenThin, 2)]));
    assert!(lost(&[]));
}

/// Rows of 6 mm; the last twenty, a way apart, are moved under a border.
#[test]
fn a_section_that_is_moved_as_a_whole_is_not_lost_but_one_that_is_gone_is() {
    // So many needle points of rows that meet in a V, 0.2 mm apart.
    let rows = |first: i32, count: i32, aside: i32| {
        let at = move |k: i32| Pt::new(if k % 2 == 0 { 20 } else { 80 } + aside, 160 + 2 * k);
        (first..first + count).map(at).map(Needle::new).collect::<Vec<_>>()
    };
    let laid = |end: Vec<Needle>| {
        let mut sewn = rows(0, 60, 0);
        sewn.extend(end);
        edited(apart(), |needles| *needles = sewn)
    };
    // Another object of the stop, close by and sewn next, with more needle points than are moved.
    let next = || satin(4, 1, &[(11.0, 26.0), (11.0, 36.0)], &[(14.0, 26.0), (14.0, 36.0)], 0.4);
    let lost = |end: Vec<Needle>| {
        let before = Sample::of(vec![ground(), above(), laid(rows(60, 20, 30)), next()]);
        let after = Sample::of(vec![ground(), above(), laid(end), next()]);
        let (_, found) = judge_all(&before, &after, &[change(PassName::Overlap, 3)]);
        found.iter().any(|v| v.words.contains("of its top are lost"))
    };
    assert!(!lost(rows(60, 20, 30)));
    // Moved, in the other order, and with thirty needle points out of reach before them.
    let mut moved = rows(0, 30, -60);
    moved.extend(rows(60, 20, 48).into_iter().rev());
    assert!(!lost(moved));
    assert!(lost(rows(60, 12, 30)));
    assert!(lost(Vec::new()));
}

/// Rows with longer stitches have fewer needle points, and rows wider apart cover less.
#[test]
fn rows_may_be_laid_anew_where_they_lie_as_dense() {
    let rows = |pitch: f64, stitch: f64| fill(1, 0, &rect(0.0, 0.0, 11.0, 6.0), 8.0, pitch, stitch);
    let above = || satin(2, 1, &[(0.0, 8.0), (11.0, 8.0)], &[(0.0, 5.0), (11.0, 5.0)], 0.4);
    let before = Sample::of(vec![rows(0.2, 4.0), above(), apart()]);
    let lost = |after: Object, changes: &[Change]| {
        let (_, found) = judge_all(&before, &Sample::of(vec![after, above(), apart()]), changes);
        found.iter().any(|v| v.words.contains("of its top are lost") && v.objects == [1])
    };
    let changes = [change(PassName::Overlap, 1)];
    assert!(!lost(rows(0.2, 4.5), &changes));
    assert!(lost(rows(0.24, 4.5), &changes));
    assert!(lost(rows(0.2, 8.0), &changes), "stitches twice as long");
    assert!(lost(rows(0.2, 4.5), &[]));
    // One row of thirty is gone: its first needle point and those inside it.
    let gone =
        |of: std::ops::Range<usize>| edited(rows(0.2, 4.0), |needles| drop(needles.drain(of)));
    let (from, to) = rows(0.2, 4.0).fill().unwrap().rows[15];
    assert!(lost(gone(from as usize..to as usize), &changes));
    // One needle point inside a row.
    assert!(lost(gone(from as usize + 2..from as usize + 3), &changes));
}

/// A fill far from what it lies under was not touched there.
#[test]
fn rows_far_from_a_junction_are_not_laid_anew() {
    let rows = |stitch: f64| fill(1, 0, &rect(0.0, 0.0, 20.0, 20.2), 8.0, 0.2, stitch);
    let above = || satin(2, 1, &[(0.0, 22.0), (20.0, 22.0)], &[(0.0, 19.0), (20.0, 19.0)], 0.4);
    let before = Sample::of(vec![rows(4.0), above()]);
    let after = Sample::of(vec![rows(5.0), above()]);
    assert_caught(&judge_all(&before, &after, &[change(PassName::Overlap, 1)]).1, "are lost", 1);
}

/// The last needle points of a tape are gone: what came after them is no place to look at.
#[test]
fn a_lost_end_of_the_tape_is_caught() {
    let before = Sample::of(vec![ground(), above()]);
    let changes = [change(PassName::Overlap, 2), change(PassName::EdgeRun, 2)];
    for lost in 1..8 {
        let short = edited(above(), |needles| needles.truncate(needles.len() - lost));
        let (_, found) = judge_all(&before, &Sample::of(vec![ground(), short]), &changes);
        // Two at the end may have been underlay that was replaced.
        assert_eq!(
            found.iter().any(|v| v.words.contains("are lost")),
            lost > 2,
            "{lost}: {found:?}"
        );
    }
}

/// Of two fills that are read back as one, a scrap that is called the second changes no layers.
#[test]
fn a_scrap_of_an_object_read_as_a_part_of_another_tells_no_layer() {
    let one_stop = |object: Object| Object { stop: 0, ..object };
    let before = Sample::of(vec![ground(), one_stop(above())]);
    let scrap = edited(one_stop(above()), |needles| needles.truncate(6));
    let flips = |first: Object| {
        let (_, found) = judge_all(&before, &Sample::of(vec![first, ground()]), &[]);
        found.iter().filter(|v| v.words.contains("on top of")).count()
    };
    assert_eq!(flips(scrap), 0);
    assert_eq!(flips(one_stop(above())), 1);
}

use std::collections::BTreeMap;

use super::{Entry, ProfileError};

/// Declares the numbers once: struct field, unit and meaning.
macro_rules! numbers {
    ($($name:ident: $unit:literal, $meaning:literal;)*) => {
        /// Every number of a garment profile, ready for use.
        #[derive(Clone, Debug, PartialEq)]
        pub struct Numbers { $(#[doc = $meaning] pub $name: f64,)* }

        /// Name, unit and meaning of every number, in the order of the profile files.
        pub const UNITS_AND_MEANINGS: &[(&str, &str, &str)] =
            &[$((stringify!($name), $unit, $meaning),)*];

        impl Numbers {
            /// Takes the numbers from a profile's entries; every one must be there, no other may.
            pub fn from_entries(entries: &BTreeMap<String, Entry>) -> Result<Self, ProfileError> {
                let known = |name: &str| UNITS_AND_MEANINGS.iter().any(|(n, _, _)| *n == name);
                if let Some(extra) = entries.keys().find(|name| !known(name)) {
                    return Err(ProfileError::Extra(extra.clone()));
                }
                let value = |name: &'static str, unit: &'static str| {
                    let entry = entries.get(name).ok_or_else(|| ProfileError::Missing(name.to_owned()))?;
                    if entry.value.is_finite() && (0.0..=100_000.0).contains(&entry.value) {
                        Ok(entry.value)
                    } else {
                        Err(ProfileError::Absurd { name: name.to_owned(), value: entry.value, unit })
                    }
                };
                Ok(Self { $($name: value(stringify!($name), $unit)?,)* })
            }
        }
    };
}

numbers! {
    fill_upright_within_deg: "deg", "A fill this close to vertical is turned";
    fill_turn_to_deg: "deg", "Angle off horizontal that a turned fill gets";
    fill_stitch_mm: "mm", "Fill stitch length where the old one is not known";
    fill_row_pitch_mm: "mm", "Distance between neighbouring fill rows where the old one is not known";
    fill_stitch_min_mm: "mm", "Shortest ordinary stitch inside a fill row";
    fill_pull_total_mm: "mm", "Pull compensation of a turned fill, total of both row ends";
    fill_pull_end_max_mm: "mm", "Most that a turned fill may grow at one free row end";
    overlap_allowance_mm: "mm", "Overlap that a junction should have";
    overlap_act_below_mm: "mm", "Overlap under which a junction is repaired";
    overlap_aim_mm: "mm", "Overlap that a repair aims for";
    overlap_far_margin_mm: "mm", "Hidden stitches stay this far inside the far edge of their cover";
    overlap_gap_limit_mm: "mm", "A gap wider than this is part of the design";
    overlap_fade_mm: "mm", "Length over which a widened edge fades out";
    junction_min_length_mm: "mm", "Shortest stretch of two edges that counts as a junction";
    edge_run_inset_mm: "mm", "Distance of the edge run from the edge";
    edge_run_stitch_mm: "mm", "Stitch length of the edge run";
    edge_run_curve_stitch_mm: "mm", "Stitch length of the edge run in tight curves";
    edge_run_min_width_mm: "mm", "Narrowest satin that gets an edge run; narrower ones get a centre run";
    edge_run_act_below: "share", "An edge run beside less of the edges than this is missing";
    edge_run_aim: "share", "Share of the edges that an edge run should lie beside";
    edge_run_near_mm: "mm", "Underlay nearer to the edge than this is no edge run (rounding aside)";
    edge_run_far_mm: "mm", "Underlay farther from the edge than this is no edge run (rounding aside)";
    edge_run_parallel_deg: "deg", "Underlay that meets the edge at more than this is no edge run";
    centre_run_stitch_mm: "mm", "Stitch length of the centre run";
    zigzag_over_width_mm: "mm", "Satins wider than this get zigzag underlay after the edge run";
    zigzag_pitch_mm: "mm", "Same-side pitch of zigzag underlay";
    zigzag_inset_mm: "mm", "Distance of zigzag underlay from the edge";
    fill_underlay_pitch_mm: "mm", "Row pitch of fill underlay";
    fill_underlay_stitch_mm: "mm", "Stitch length of fill underlay";
    fill_underlay_inset_mm: "mm", "Distance of fill underlay from the outline";
    guard_min_angle_deg: "deg", "Stitch directions that cross by this much need a guard";
    guard_min_length_mm: "mm", "Shortest crossing that needs a guard";
    guard_pitch_mm: "mm", "Advance of guard zigzag along the curve from one needle point to the next";
    guard_reach_mm: "mm", "How far guard zigzag reaches to either side of the curve";
    guard_hold_mm: "mm", "A stitch that reaches this far to both sides of the curve holds it";
    guard_hold_every_mm: "mm", "A junction is held where such stitches lie no farther apart than this";
    order_grow_mm: "mm", "Objects closer than twice this keep their order";
    order_unsure_barrier_mm: "mm", "Nothing passes an unsure stretch within this distance";
    order_gain_min: "share", "Least gain of the order's cost that moves whole stops";
    order_gain_min_s: "s", "Least gain that changes the order at all";
    order_below_s: "s/mm", "Price of 1 mm that something lies below what was sewn before it, times the smaller share of stitches";
    order_outward_s: "s/mm", "Price of 1 mm that something lies nearer the centre than what was sewn before it, likewise";
    order_within_share: "share", "What both prices count for between objects of one element";
    order_return_s: "s", "Price of coming back to an element that was left unfinished";
    order_trim_s: "s", "Price of a trim in an order: its time, and the tail and the lock that it leaves";
    order_change_s: "s", "Price of two objects following each other that did not before";
    order_stop_change_s: "s", "Price of two whole stops following each other that did not before";
    link_jump_max_mm: "mm", "Longest jump left untrimmed, under later cover";
    link_sewn_max_mm: "mm", "Longest link stitch";
    link_travel_max_mm: "mm", "Longest hidden travel that is sewn to save a trim";
    tie_stitch_mm: "mm", "Length of a tie stitch";
    run_stitch_mm: "mm", "Stitch length of runs and hidden travel";
    satin_width_fault_mm: "mm", "A satin narrower than this cuts the cloth";
    widen_max_mm: "mm", "Most by which a thin satin may be widened";
    satin_width_warn_mm: "mm", "A satin wider than this may snag";
    satin_width_split_mm: "mm", "A satin wider than this should be split";
    stitch_max_mm: "mm", "Longest stitch";
    stitch_short_fault_mm: "mm", "A stitch shorter than this is a fault";
    stitch_short_warn_mm: "mm", "A stitch shorter than this is unusual";
    crowd_count: "points", "More needle points than this in one place are crowded";
    crowd_radius_mm: "mm", "Radius of that place";
    crowd_refuse: "points", "A repair that puts more needle points than this in one place is taken back";
    layers_max: "layers", "Most top layers anywhere";
    trims_per_1000: "trims", "More trims than this in 1,000 stitches are many";
    frame_height_warn_mm: "mm", "Design height from which to warn";
    frame_height_mm: "mm", "Height of the sewing field";
    frame_width_warn_mm: "mm", "Design width from which to warn";
    frame_width_mm: "mm", "Width of the sewing field";
    brim_clear_mm: "mm", "Lowest stitch above the brim seam, for advice";
    seam_thin_width_mm: "mm", "An upright satin narrower than this is thin detail";
    seam_thin_within_mm: "mm", "Distance from the seam within which thin detail is at risk";
    seam_band_mm: "mm", "Reach to either side of the seam of its extra underlay";
    seam_support_share: "share", "An object is supported on the seam where crossing underlay lies under this much of it";
    seam_offset_advise_mm: "mm", "Start point further than this from the middle: advise";
    thread_width_mm: "mm", "Width of a stitch line that covers (a pair of threads)";
    hide_window_mm: "mm", "Window in which cover is judged";
    hide_share: "share", "Share of each window that a hiding region covers";
    foam_pitch_mm: "mm", "Same-side pitch under which capped satin means foam";
    confidence_min: "share", "Objects below this confidence are unsure";
    unsure_share_max: "share", "More unsure stitches than this need a person's eyes";
    sew_pull_mm: "mm", "Sew-out model: pull at a reversal";
    sew_push_mm: "mm", "Sew-out model: push at a column's end";
    sew_stop_sigma_mm: "mm", "Sew-out model: displacement of a stop, standard deviation";
    sew_walk_sigma_mm: "mm", "Sew-out model: slow walk over the whole sewing order";
    sew_seam_sigma_mm: "mm", "Sew-out model: extra displacement across the seam near it";
    sew_seam_zone_mm: "mm", "Sew-out model: how near";
    sew_far_mm: "mm", "Sew-out model: distance from bottom centre at which displacements are twice as large; 0 = they do not grow";
    sew_edge_run_factor: "share", "Sew-out model: what an edge run leaves of the pull";
    sew_row_open_mm: "mm", "Sew-out model: opening of rows parallel to the seam where they cross it";
    sew_cover_closing_mm: "mm", "Sew-out model: closing that makes intended cover";
    speed_spm: "stitches/min", "Sewing speed";
    trim_seconds: "s", "Time of a trim";
    stop_seconds: "s", "Time of a colour change";
    bobbin_per_top: "share", "Bobbin thread per top thread";
}

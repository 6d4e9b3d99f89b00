use crownmend::*;
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let b = std::fs::read(&a[1]).unwrap();
    let (t, _) = tape::read(&b, tape::Salvage::Refuse).unwrap();
    let s = settings::Settings::new(garment::built_in("finished-cap").unwrap());
    let d = design::from_tape(&t);
    let o = recognise::recognise(&d, &s);
    for x in &o.items {
        let f = x.first().unwrap().origin.unwrap();
        let l = x.last().unwrap().origin.unwrap();
        print!(
            "{} {:?} stop{} {}..{} conf {:.2} hides {} held {} area {:.2} | ",
            x.id,
            x.class,
            x.stop,
            f,
            l,
            x.confidence,
            x.hides,
            x.held,
            geo::Area::unsigned_area(&x.footprint)
        );
        for p in &x.parts {
            print!("{:?}:{} ", p.label, p.needles.len());
        }
        match &x.shape {
            objects::Shape::Satin(s) => {
                print!(" w {:.1?} p {:.2} closed {}", s.width, s.same_side_pitch, s.closed)
            }
            objects::Shape::Fill(f) => print!(
                " angle {:.1} pitch {:.2} st {:.1} stag {} rows {}",
                f.angle,
                f.row_pitch,
                f.stitch,
                f.stagger,
                f.rows.len()
            ),
            _ => {}
        }
        println!();
    }
}

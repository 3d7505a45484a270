//! A marker as a sheet: the cloth, every piece on it with its words, rulers, and the title.
//!
//! At full size the title stands behind the end of the cloth, so that the drawing is hardly wider
//! than the cloth and a plotter takes it; to a smaller scale it stands below, to suit a page.

use std::collections::BTreeMap;

use tiewright_core::draft::Tool;
use tiewright_core::format::decimal;
use tiewright_core::layout::MARGIN;
use tiewright_core::paper::caution;
use tiewright_core::sheet::{Group, Item, Mark, Sheet};
use tiewright_geometry::{Affine, Point, Vec2};

use super::furniture::{self, Look};
use super::job::{JobArticle, JobPiece, LayJob};
use super::labels::{self, Place};
use super::laid::{Laid, Placed};
use super::outline::{laid, turned};
use tiewright_marker::Turn;

/// One over the scales that are chosen from, rounder ones only.
const SCALES: [f64; 12] = [
    1.0, 2.0, 2.5, 4.0, 5.0, 10.0, 15.0, 20.0, 25.0, 50.0, 100.0, 200.0,
];
/// The longest the cloth is drawn to a smaller scale, mm: A2 paper less its margins.
const SMALL_LENGTH: f64 = 550.0;
/// The widest, mm: the same, less room for the title.
const SMALL_WIDTH: f64 = 280.0;
/// The most articles listed.
const MOST_ARTICLES: usize = 8;

/// A grain arrow takes no more than this share of the way from its middle to the line to cut: its head
/// is seen not to be a notch.
const ARROW: f64 = 0.85;
/// How far sides may be off the line to cut to see how long an arrow may be, mm: less than a pen line.
const NEAR: f64 = 0.2;
/// Characters of the column of names of facts, written as a table.
pub const NAMES: usize = 12;

/// A named fact.
pub type Fact = (String, String);

/// A job and what it was laid as.
#[derive(Debug, Clone, Copy)]
pub struct Marker<'m> {
    /// The job.
    pub job: &'m LayJob,
    /// What it was laid as.
    pub laid: &'m Laid,
}

/// Where the cloth lies on the sheet.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ground {
    /// The corner of the cloth at the start of its selvedge, on the sheet.
    pub corner: Point,
    /// Sheet to cloth.
    pub scale: f64,
    /// Both end losses in it, mm of cloth.
    pub length: f64,
    /// mm of cloth.
    pub width: f64,
    /// From the corner to where pieces may begin, mm of cloth.
    pub first: Vec2,
}

impl Ground {
    /// A place of the marker on the sheet.
    pub fn at(&self, place: Point) -> Point {
        self.corner + (place.to_vec2() + self.first) * self.scale
    }

    /// A place of the cloth on the sheet, from its corner.
    pub fn of_cloth(&self, place: Point) -> Point {
        self.corner + place.to_vec2() * self.scale
    }
}

impl Marker<'_> {
    /// The scale that suits a page.
    pub fn small_scale(&self) -> f64 {
        let (length, width) = (self.laid.ply_length, self.job.cloth.width);
        let fits = |over: &&f64| length / **over <= SMALL_LENGTH && width / **over <= SMALL_WIDTH;
        let chosen = SCALES.iter().find(fits);
        // Larger cloth than the smallest of them holds fills the page.
        let fill = || (SMALL_LENGTH / length).min(SMALL_WIDTH / width);
        chosen.map_or_else(fill, |over| 1.0 / over)
    }

    /// The sheet to `scale`, 1 for full size, and where on it the pieces begin at the edge of the
    /// usable width.
    pub fn sheet(&self, scale: f64) -> (Sheet, Point) {
        let (job, laid) = (self.job, self.laid);
        let look = Look::new(job.cloth.width * scale, scale);
        let (length, width) = (laid.ply_length, job.cloth.width);
        let mut title = furniture::title(&self.title_rows(scale), look, &self.caution());
        let ruler = look.ruler_room();
        let drawn = (length * scale, width * scale);
        let (corner, place, size) = if scale < 1.0 {
            let corner = Point::new(MARGIN + ruler, 2.0 * MARGIN + title.height + ruler);
            let across = (drawn.0 + ruler).max(title.width);
            let size = (across + 2.0 * MARGIN, corner.y + drawn.1 + MARGIN);
            (corner, Point::new(MARGIN, MARGIN + title.height), size)
        } else {
            let corner = Point::new(MARGIN + ruler, MARGIN + ruler);
            let top = corner.y + drawn.1.max(title.height - ruler);
            let left = corner.x + drawn.0 + 2.0 * MARGIN;
            let size = (left + title.width + MARGIN, top + MARGIN);
            (corner, Point::new(left, top), size)
        };
        let ground = Ground {
            corner,
            scale,
            length,
            width,
            first: Vec2::new(job.table.end_loss, (width - job.cloth.usable_width) / 2.0),
        };
        title.group.offset = place.to_vec2();
        let mut groups = vec![furniture::cloth(&ground, job, laid.length)];
        groups.extend(furniture::flaws(&ground, job, look));
        groups.extend(self.pieces(&ground, look));
        groups.push(furniture::rulers(&ground, look));
        groups.push(title.group);
        let sheet = Sheet {
            title: job.name.as_str().into(),
            facts: vec![("marker".into(), job.name.clone())],
            width: size.0,
            height: size.1,
            groups,
        };
        (sheet, ground.at(Point::ZERO))
    }

    fn title_rows(&self, scale: f64) -> Vec<Fact> {
        let mut rows = vec![(String::new(), self.job.name.clone())];
        rows.extend(facts(self.job, self.laid));
        let scale = if scale < 1.0 {
            let over = decimal(1.0 / scale, 1);
            format!(
                "1:{over}, not to cut from; rulers in mm of cloth; a piece too small for its name has \
                 the number of its tie alone"
            )
        } else {
            "full size: the test square is 50 mm both ways".to_owned()
        };
        rows.push(("scale".to_owned(), scale));
        rows
    }

    fn caution(&self) -> String {
        let said = caution(Tool::Blade);
        format!("Caution, {}: {}", said.title, said.text)
    }

    /// Every piece as a group of its own.
    fn pieces(&self, ground: &Ground, look: Look) -> Vec<Group> {
        let mut names: BTreeMap<String, usize> = BTreeMap::new();
        let mut places: BTreeMap<(&str, Option<&str>, &str), (Place, bool)> = BTreeMap::new();
        let ties = self.job.ties();
        let mut groups = Vec::new();
        for placed in &self.laid.pieces {
            let Some((article, piece)) = placed.of(self.job) else {
                continue;
            };
            let first = laid(&piece.grain, self.job.cloth.warp);
            let key = (&*placed.style, placed.size.as_deref(), &*placed.piece);
            let place = places.entry(key).or_insert_with(|| {
                let cut = piece.cut.transformed(Affine::scale(ground.scale) * first);
                let choices = choices(article, piece, ties);
                let mut drawn = marks(piece, first, Affine::IDENTITY, ground.scale);
                let place =
                    labels::placed(&cut, &labels::room(&cut, &drawn), &choices, look.words());
                if place.fits || ground.scale >= 1.0 {
                    return (place, true);
                }
                // To a smaller scale words come before the grain.
                drawn.truncate(1);
                let room = labels::room(&cut, &drawn);
                (labels::placed(&cut, &room, &choices, look.words()), false)
            });
            let (place, has_grain) = &*place;
            let turn = turned(Turn::degrees(f64::from(placed.turn)));
            let mut drawn = marks(piece, first, turn, ground.scale);
            drawn.retain(|mark| *has_grain || !matches!(mark, Mark::Grain { .. }));
            let mut items: Vec<Item> = drawn.into_iter().flat_map(|m| look.inked(m)).collect();
            let lines = choices(article, piece, placed.tie as u64);
            if let Some(lines) = lines.get(place.choice) {
                items.extend(labels::written(lines, place, turn));
            }
            let name = format!("{}-{}", placed.piece, placed.tie);
            let count = names.entry(name.clone()).or_insert(0);
            *count += 1;
            let name = if *count > 1 {
                format!("{name}-{count}")
            } else {
                name
            };
            groups.push(Group {
                name: name.into(),
                is_piece: true,
                facts: facts_of(placed),
                offset: ground.at(Point::new(placed.x, placed.y)).to_vec2(),
                items,
            });
        }
        groups
    }
}

fn facts_of(placed: &Placed) -> Vec<tiewright_core::sheet::Fact> {
    let mut facts = vec![
        ("piece".into(), placed.piece.clone()),
        ("style".into(), placed.style.clone()),
    ];
    facts.extend(placed.size.clone().map(|size| ("size".into(), size)));
    facts.push(("tie".into(), placed.tie.to_string()));
    facts
}

/// What may be written on a piece, best first.
fn choices(article: &JobArticle, piece: &JobPiece, tie: u64) -> Vec<Vec<String>> {
    let name = piece.name.replace('-', " ");
    let style = match &article.size {
        Some(size) => format!("{}, {size}", article.style),
        None => article.style.clone(),
    };
    vec![
        vec![name.clone(), style.clone(), format!("tie {tie}")],
        vec![format!("{name}, tie {tie}"), style],
        vec![format!("{name} {tie}")],
        vec![tie.to_string()],
    ]
}

/// What is drawn of a piece that is laid by `first`, then turned, then scaled by `scale`.
fn marks(piece: &JobPiece, first: Affine, turn: Affine, scale: f64) -> Vec<Mark> {
    let map = Affine::scale(scale) * turn * first;
    let mut marks = vec![Mark::Cut(piece.cut.transformed(map))];
    marks.extend(piece.notches.iter().map(|notch| {
        let inward = (map * notch.inward.to_point()).to_vec2();
        Mark::Notch {
            kind: notch.kind,
            at: map * notch.at,
            inward: inward / scale,
            depth: notch.depth * scale,
            width: notch.width * scale,
        }
    }));
    marks.extend(piece.drills.iter().map(|drill| Mark::Drill(map * drill.at)));
    let [from, to] = grain(piece, first).map(|end| map * end);
    marks.push(Mark::Grain { from, to });
    marks
}

/// The grain arrow of a piece that is laid by `first`, in the frame of its draft: about the middle
/// of the drafted one, since the cloth may have the warp run the other way; where there is no room
/// for it then, in the middle of the room there is.
fn grain(piece: &JobPiece, first: Affine) -> [Point; 2] {
    let middle = piece.grain.from.midpoint(piece.grain.to);
    let half = piece.grain.from.distance(piece.grain.to) / 2.0;
    let along = (first.inverse() * Point::new(1.0, 0.0)).to_vec2();
    let corners = piece.cut.flatten(NEAR);
    let sides = corners.iter().zip(corners.iter().cycle().skip(1));
    let (mut behind, mut ahead) = (f64::INFINITY, f64::INFINITY);
    for way in sides.filter_map(|(a, b)| meeting(middle, along, *a, *b)) {
        let side = if way < 0.0 { &mut behind } else { &mut ahead };
        *side = side.min(way.abs());
    }
    let no_room = half > behind.min(ahead) * ARROW;
    let (shift, half) = if no_room && (behind + ahead).is_finite() {
        let most = (behind + ahead) / 2.0 * ARROW;
        ((ahead - behind) / 2.0, half.min(most))
    } else {
        (0.0, half)
    };
    [shift - half, shift + half].map(|way| middle + along * way)
}

/// How far along the line through `middle` it meets the side from `a` to `b`; `along` is a unit
/// vector.
fn meeting(middle: Point, along: Vec2, a: Point, b: Point) -> Option<f64> {
    let (from, to) = (along.cross(a - middle), along.cross(b - middle));
    ((from > 0.0) != (to > 0.0)).then(|| along.dot(a.lerp(b, from / (from - to)) - middle))
}

/// What a marker comes to, in words.
pub fn facts(job: &LayJob, laid: &Laid) -> Vec<Fact> {
    let mm = |value: f64| format!("{} mm", decimal(value, 1));
    let share = |value: f64| format!("{} %", decimal(value * 100.0, 2));
    let mut rows: Vec<Fact> = Vec::new();
    let mut row = |name: &str, value: String| rows.push((name.to_owned(), value));
    for (index, article) in job.articles.iter().take(MOST_ARTICLES).enumerate() {
        let name = if index == 0 { "ties" } else { "" };
        row(name, format!("{} x {}", article.count, article.title()));
    }
    if let Some(more @ 1..) = job.articles.len().checked_sub(MOST_ARTICLES) {
        row("", format!("and {more} more, {} ties in all", job.ties()));
    }
    row("pieces", laid.pieces.len().to_string());
    row("cloth", cloth_words(job));
    row("length", mm(laid.length));
    row(
        "one ply",
        format!(
            "{}, with {} lost at each end",
            mm(laid.ply_length),
            mm(job.table.end_loss)
        ),
    );
    row(
        "utilisation",
        format!(
            "{} of the usable width, {} of the cloth",
            share(laid.of_usable_width),
            share(laid.of_cloth)
        ),
    );
    row("gap", format!("{} at least", mm(job.table.gap)));
    row(
        "cuts",
        format!("{} m in all", decimal(laid.cut_length / 1000.0, 1)),
    );
    if let Some(near) = job.near {
        row("one tie", format!("along {} at most", mm(near)));
    }
    if !job.tied.is_empty() {
        let every = |repeat: Option<f64>, way: &str| Some(format!("every {} {way}", mm(repeat?)));
        let (along, across) = (job.cloth.repeat_warp, job.cloth.repeat_weft);
        let repeats = [every(along, "along"), every(across, "across")];
        let words = job
            .tied
            .iter()
            .cloned()
            .chain(repeats.into_iter().flatten());
        row("on repeat", words.collect::<Vec<_>>().join(", "));
    }
    for note in &job.notes {
        row("note", note.clone());
    }
    rows
}

fn cloth_words(job: &LayJob) -> String {
    let cloth = &job.cloth;
    let mut words = cloth.name.clone();
    if !words.is_empty() {
        words += ", ";
    }
    words += &format!(
        "{} mm wide, {} mm usable, {}",
        decimal(cloth.width, 1),
        decimal(cloth.usable_width, 1),
        cloth.direction.as_str()
    );
    if let Some(warp) = cloth.warp {
        words += &format!(", bias {}", warp.as_str());
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lay::{Effort, Prepared, Sealed, solve};
    use crate::sample;
    use tiewright_core::cloth::{Bias, Direction};
    use tiewright_marker::Never;

    #[test]
    fn cloth_of_any_width_suits_a_page() {
        for width in [600.0, 3_000.0, 100_000.0] {
            let mut job = crate::lay::tests::sealed(&sample::draft(), Direction::TwoWay, 1).job;
            (job.cloth.width, job.cloth.usable_width) = (width, width);
            let sealed = Sealed::new(&job).expect("a job");
            let prepared = Prepared::new(&sealed).expect("prepared");
            let laid = solve(&prepared, &Effort::default(), &Never, &mut |_| {}).expect("laid");
            let marker = Marker {
                job: &sealed.job,
                laid: &laid,
            };
            let scale = marker.small_scale();
            assert!(width * scale <= SMALL_WIDTH + 1e-9, "{width} at {scale}");
            assert!(laid.ply_length * scale <= SMALL_LENGTH + 1e-9);
        }
    }

    #[test]
    fn the_grain_arrow_stays_on_the_piece_whichever_way_the_warp_runs() {
        let job = crate::lay::tests::sealed(&sample::draft(), Direction::TwoWay, 1).job;
        let mut piece = job.articles[0].pieces[0].clone();
        // A strip along the drafted grain, too narrow for the arrow square to it, which is drafted to
        // one side.
        piece.cut = crate::lay::path::ring("M0 10L90 100L105 85L15 -5Z").expect("a strip");
        (piece.grain.from, piece.grain.to) = (Point::new(20.0, 20.0), Point::new(80.0, 80.0));
        for (warp, middle, length) in [
            (Bias::Left, 50.0, 7200.0_f64.sqrt()),
            (Bias::Right, 52.5, 450.0_f64.sqrt() * ARROW),
        ] {
            let [from, to] = grain(&piece, laid(&piece.grain, Some(warp)));
            let wanted = Point::new(middle, 100.0 - middle);
            assert!((from.midpoint(to) - wanted).hypot() < 1e-9, "{warp:?}");
            assert!((from.distance(to) - length).abs() < 1e-9, "{warp:?}");
        }
    }

    #[test]
    fn names_of_facts_leave_room_before_what_they_say() {
        let mut job = crate::lay::tests::sealed(&sample::draft(), Direction::TwoWay, 1).job;
        job.near = Some(1500.0);
        job.cloth.repeat_warp = Some(50.0);
        job.tied = vec![job.articles[0].pieces[0].name.clone()];
        job.notes = vec!["spread 4 plies".to_owned()];
        let sealed = Sealed::new(&job).expect("a job");
        let prepared = Prepared::new(&sealed).expect("prepared");
        let laid = solve(&prepared, &Effort::default(), &Never, &mut |_| {}).expect("laid");
        let facts = facts(&sealed.job, &laid);
        assert_eq!(facts.iter().filter(|fact| fact.0 == "on repeat").count(), 1);
        for (name, _) in facts {
            assert!(name.len() < NAMES, "`{name}`");
        }
    }
}

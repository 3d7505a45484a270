//! The convex parts of an outline: the fewer, the quicker the search.
//!
//! In: the corners of a simple polygon, counter-clockwise. Out: convex polygons that fill it exactly,
//! with no corners but its own. Never: curves.
//!
//! An outline of few corners is cut from dent to dent, each time where one cut makes most dents
//! convex; two dents opposite one another, as a waisted piece has them, go with one cut. Triangles
//! joined again serve outlines of many corners, and wherever they come out fewer.

use kurbo::Point;

use crate::outline::{meet, side};

/// Outlines of more corners are not cut from dent to dent: the time grows with their cube.
const MOST_CORNERS: usize = 100;

/// Convex polygons that fill the polygon; `None` if its edges meet.
pub(crate) fn convex_parts(points: &[Point]) -> Option<Vec<Vec<Point>>> {
    if is_convex(points) {
        return Some(vec![points.to_vec()]);
    }
    let mut parts = joined_triangles(points)?;
    if points.len() <= MOST_CORNERS {
        let cut = cut_at_dents(points, (0..points.len()).collect());
        parts = cut.filter(|cut| cut.len() <= parts.len()).unwrap_or(parts);
    }
    let corners = |part: &Vec<usize>| part.iter().map(|&i| points[i]).collect();
    Some(parts.iter().map(corners).collect())
}

/// The ring of corners cut until no dent is left; `None` if a dent has no cut.
fn cut_at_dents(points: &[Point], ring: Vec<usize>) -> Option<Vec<Vec<usize>>> {
    let count = ring.len();
    let dents: Vec<usize> = (0..count).filter(|&i| is_dent(points, &ring, i)).collect();
    if dents.is_empty() {
        return Some(vec![ring]);
    }
    let cuts = dents
        .iter()
        .flat_map(|&i| (0..count).map(move |j| (i, j)))
        .filter(|&(i, j)| is_cut(points, &ring, i, j));
    let worth = |&(i, j): &(usize, usize)| {
        let mended = [(i, j), (j, i)]
            .iter()
            .filter(|(at, other)| is_dent(points, &ring, *at) && mends(points, &ring, *at, *other))
            .count();
        (mended, points[ring[i]].distance(points[ring[j]]))
    };
    let (i, j) = cuts.max_by(|a, b| {
        let (a, b) = (worth(a), worth(b));
        a.0.cmp(&b.0).then(b.1.total_cmp(&a.1))
    })?;
    let (i, j) = (i.min(j), i.max(j));
    let one = ring[i..=j].to_vec();
    let two = ring[j..].iter().chain(&ring[..=i]).copied().collect();
    let mut parts = cut_at_dents(points, one)?;
    parts.extend(cut_at_dents(points, two)?);
    Some(parts)
}

/// The corner `at` of the ring with the one before it and the one after it.
fn corner(points: &[Point], ring: &[usize], at: usize) -> [Point; 3] {
    let count = ring.len();
    [count - 1, 0, 1].map(|k| points[ring[(at + k) % count]])
}

fn is_dent(points: &[Point], ring: &[usize], at: usize) -> bool {
    let [a, b, c] = corner(points, ring, at);
    side(a, b, c) < 0.0
}

/// Whether a cut from the dent `at` to another corner leaves no dent there.
fn mends(points: &[Point], ring: &[usize], at: usize, other: usize) -> bool {
    let [a, b, c] = corner(points, ring, at);
    let to = points[ring[other]];
    side(a, b, to) >= 0.0 && side(to, b, c) >= 0.0
}

/// Whether the straight line between two corners runs inside the ring.
fn is_cut(points: &[Point], ring: &[usize], i: usize, j: usize) -> bool {
    let count = ring.len();
    let apart = (i + count - j) % count;
    if apart < 2 || apart > count - 2 {
        return false;
    }
    let inside = |at: usize, other: usize| {
        let [a, b, c] = corner(points, ring, at);
        let to = points[ring[other]];
        let (left_of_in, left_of_out) = (side(a, b, to) > 0.0, side(b, c, to) > 0.0);
        if side(a, b, c) < 0.0 {
            left_of_in || left_of_out
        } else {
            left_of_in && left_of_out
        }
    };
    let (p, q) = (points[ring[i]], points[ring[j]]);
    inside(i, j)
        && inside(j, i)
        && (0..count)
            .filter(|&k| ![i, j].contains(&k) && ![i, j].contains(&((k + 1) % count)))
            .all(|k| !meet((p, q), (points[ring[k]], points[ring[(k + 1) % count]])))
}

/// Triangles of the polygon, joined over every diagonal that is not needed (Hertel & Mehlhorn
/// 1983: at most four times as many parts as the fewest).
fn joined_triangles(points: &[Point]) -> Option<Vec<Vec<usize>>> {
    let mut parts = triangles(points)?;
    let mut one = 0;
    while one < parts.len() {
        let joined = (one + 1..parts.len())
            .find_map(|two| joined(points, &parts[one], &parts[two]).map(|part| (two, part)));
        match joined {
            Some((two, part)) => {
                parts.remove(two);
                parts[one] = part;
            }
            None => one += 1,
        }
    }
    Some(parts)
}

/// Whether every corner turns left.
fn is_convex(points: &[Point]) -> bool {
    let count = points.len();
    (0..count).all(|i| side(points[i], points[(i + 1) % count], points[(i + 2) % count]) >= 0.0)
}

/// The polygon cut into triangles of corner numbers, the largest smallest side first so that
/// slivers are few.
fn triangles(points: &[Point]) -> Option<Vec<Vec<usize>>> {
    let mut left: Vec<usize> = (0..points.len()).collect();
    let mut found = Vec::new();
    while left.len() > 3 {
        let count = left.len();
        let ears = (0..count).filter(|&i| is_ear(points, &left, i));
        let length = |i: usize| {
            points[left[(i + count - 1) % count]].distance(points[left[(i + 1) % count]])
        };
        let ear = ears.min_by(|&a, &b| length(a).total_cmp(&length(b)))?;
        found.push(vec![
            left[(ear + count - 1) % count],
            left[ear],
            left[(ear + 1) % count],
        ]);
        left.remove(ear);
    }
    found.push(left);
    Some(found)
}

/// Whether the corner `i` of those left can be cut off.
fn is_ear(points: &[Point], left: &[usize], i: usize) -> bool {
    let count = left.len();
    let (before, after) = ((i + count - 1) % count, (i + 1) % count);
    let (a, b, c) = (points[left[before]], points[left[i]], points[left[after]]);
    if side(a, b, c) <= 0.0 {
        return false;
    }
    (0..count)
        .filter(|k| ![before, i, after].contains(k))
        .all(|k| {
            let p = points[left[k]];
            side(a, b, p) < 0.0 || side(b, c, p) < 0.0 || side(c, a, p) < 0.0
        })
}

/// Two parts as one, if they share an edge and are convex together.
fn joined(points: &[Point], one: &[usize], two: &[usize]) -> Option<Vec<usize>> {
    let (m, n) = (one.len(), two.len());
    let (i, j) = (0..m)
        .flat_map(|i| (0..n).map(move |j| (i, j)))
        .find(|&(i, j)| one[i] == two[(j + 1) % n] && one[(i + 1) % m] == two[j])?;
    let mut part: Vec<usize> = (1..m).map(|k| one[(i + k) % m]).collect();
    part.push(one[i]);
    part.extend((2..n).map(|k| two[(j + k) % n]));
    let corners: Vec<Point> = part.iter().map(|&k| points[k]).collect();
    is_convex(&corners).then_some(part)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::{Outline, signed_area};

    #[test]
    fn parts_fill_a_comb() {
        let comb = [
            (0., 0.),
            (50., 0.),
            (50., 30.),
            (40., 30.),
            (40., 10.),
            (30., 10.),
            (30., 30.),
            (20., 30.),
            (20., 10.),
            (10., 10.),
            (10., 30.),
            (0., 30.),
        ]
        .map(Point::from);
        let outline = Outline::new(&comb).expect("a comb");
        let parts = outline.parts();
        let sum: f64 = parts.iter().map(|p| signed_area(p)).sum();
        assert!((sum - outline.area()).abs() < 1e-9);
        assert!(parts.iter().all(|p| is_convex(p)));
        assert!(parts.len() <= 6, "{}", parts.len());
    }

    #[test]
    fn a_waist_goes_with_one_cut() {
        let waist = [
            (0., 0.),
            (50., 10.),
            (100., 0.),
            (100., 60.),
            (50., 50.),
            (0., 60.),
        ];
        let outline = Outline::new(&waist.map(Point::from)).expect("a waist");
        assert_eq!(outline.parts().len(), 2);
        let sum: f64 = outline.parts().iter().map(|p| signed_area(p)).sum();
        assert!((sum - outline.area()).abs() < 1e-9);
    }
}

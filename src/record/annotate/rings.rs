//! Closed outlines traced from pixels: told apart from drawn ones, smoothed, and widened.

type Point = [f32; 2];

/// Whether a ring goes from pixel to neighbouring pixel, as a traced border does. Outlines drawn by hand or by a figure do
/// not, and are left as they are.
pub(super) fn is_traced(ring: &[Point], reading_px: f32) -> bool {
    let step = 1.5 * reading_px;
    let next = ring.iter().cycle().skip(1);
    ring.len() >= 4
        && ring
            .iter()
            .zip(next)
            .all(|(a, b)| (a[0] - b[0]).abs() <= step && (a[1] - b[1]).abs() <= step)
}

/// Takes the steps of the pixels out: each point moves towards its neighbours' mean, twice, by less than half a reading.
/// Short rings are left alone, for there the steps are the shape.
pub(super) fn smoothed(ring: &[Point]) -> Vec<Point> {
    if ring.len() < 16 {
        return ring.to_vec();
    }
    let mean = |ring: &[Point]| -> Vec<Point> {
        let count = ring.len();
        let blend = |n: usize, axis: usize| {
            let (before, after) = (ring[(n + count - 1) % count][axis], ring[(n + 1) % count][axis]);
            0.25 * before + 0.5 * ring[n][axis] + 0.25 * after
        };
        (0..count).map(|n| [blend(n, 0), blend(n, 1)]).collect()
    };
    mean(&mean(ring))
}

/// Moves each point outwards, square to its neighbours, by `by_px`.
pub(super) fn widened(ring: &[Point], by_px: f32) -> Vec<Point> {
    let count = ring.len();
    // Twice the area, positive where the ring runs clockwise as seen (y downwards).
    let turned: f32 = (0..count)
        .map(|n| {
            let (a, b) = (ring[n], ring[(n + 1) % count]);
            a[0] * b[1] - b[0] * a[1]
        })
        .sum();
    let side = if turned < 0.0 { -by_px } else { by_px };
    (0..count)
        .map(|n| {
            let (a, b) = (ring[(n + count - 1) % count], ring[(n + 1) % count]);
            let way = [b[0] - a[0], b[1] - a[1]];
            let length = way[0].hypot(way[1]);
            // The tip of a line one pixel wide has the same neighbour on both sides: it has no outward side.
            if length < 1e-3 {
                return ring[n];
            }
            [ring[n][0] + side * way[1] / length, ring[n][1] - side * way[0] / length]
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn circle(radius: f32, count: usize, turn: f32) -> Vec<Point> {
        let angle = |n: usize| turn * n as f32 / count as f32 * std::f32::consts::TAU;
        (0..count)
            .map(|n| [50.0 + radius * angle(n).cos(), 50.0 + radius * angle(n).sin()])
            .collect()
    }

    #[test]
    fn widening_moves_outwards_whichever_way_the_ring_runs() {
        for turn in [1.0, -1.0] {
            for [x, y] in widened(&circle(20.0, 100, turn), 3.0) {
                assert!(((x - 50.0).hypot(y - 50.0) - 23.0).abs() < 0.05, "{x} {y}");
            }
        }
    }

    #[test]
    fn smoothing_keeps_a_round_outline_where_it_is() {
        let ring: Vec<Point> = circle(40.0, 160, 1.0).iter().map(|p| p.map(f32::round)).collect();
        let smooth = smoothed(&ring);
        assert!(
            ring.iter()
                .zip(&smooth)
                .all(|(a, b)| (a[0] - b[0]).hypot(a[1] - b[1]) < 0.75)
        );
        let rough = |ring: &[Point]| {
            let off = ring.iter().map(|p| ((p[0] - 50.0).hypot(p[1] - 50.0) - 40.0).powi(2));
            (off.sum::<f32>() / ring.len() as f32).sqrt()
        };
        assert!(
            rough(&smooth) < 0.75 * rough(&ring),
            "{} from {}",
            rough(&smooth),
            rough(&ring)
        );
    }

    #[test]
    fn traced_borders_are_told_from_drawn_outlines() {
        let square = [[0.0, 0.0], [3.0, 0.0], [3.0, 3.0], [0.0, 3.0]];
        assert!(is_traced(&square, 3.0));
        assert!(!is_traced(&square, 1.0));
        assert!(!is_traced(&square[..3], 3.0));
        assert!(!is_traced(&[], 3.0));
    }
}

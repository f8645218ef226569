//! A polygon cut to the picture (Sutherland and Hodgman's way, one side after the other).

/// The part of a polygon within −0.5..columns − 0.5 and −0.5..rows − 0.5.
pub(super) fn to_picture(polygon: &[[f64; 2]], columns: f64, rows: f64) -> Vec<[f64; 2]> {
    let sides: [(usize, f64, f64); 4] = [
        (0, -0.5, 1.0),
        (0, columns - 0.5, -1.0),
        (1, -0.5, 1.0),
        (1, rows - 0.5, -1.0),
    ];
    let mut points = polygon.to_vec();
    for (axis, bound, sign) in sides {
        let depth = |p: &[f64; 2]| (p[axis] - bound) * sign;
        let mut kept = Vec::with_capacity(points.len() + 4);
        for (index, here) in points.iter().enumerate() {
            let Some(before) = points.get((index + points.len() - 1) % points.len()) else {
                continue;
            };
            if (depth(here) >= 0.0) != (depth(before) >= 0.0) {
                let share = depth(before) / (depth(before) - depth(here));
                kept.push([
                    before[0] + share * (here[0] - before[0]),
                    before[1] + share * (here[1] - before[1]),
                ]);
            }
            if depth(here) >= 0.0 {
                kept.push(*here);
            }
        }
        points = kept;
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_square_over_the_corner_keeps_its_corner() {
        let square = [[-5.0, -5.0], [5.0, -5.0], [5.0, 5.0], [-5.0, 5.0]];
        let cut = to_picture(&square, 100.0, 100.0);
        let area: f64 = (0..cut.len())
            .map(|i| {
                let (a, b) = (cut[i], cut[(i + 1) % cut.len()]);
                (a[0] * b[1] - b[0] * a[1]) / 2.0
            })
            .sum();
        assert!((area.abs() - 5.5 * 5.5).abs() < 1e-9, "{area}");
        assert!(
            to_picture(&square, 100.0, 100.0)
                .iter()
                .all(|p| p[0] >= -0.5 && p[1] >= -0.5)
        );
    }
}

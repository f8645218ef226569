//! Checks of whole pictures that do not need a reference picture.

use super::*;

fn map() -> Array2<f32> {
    Array2::from_shape_fn((24, 32), |(row, column)| 12.0 + 0.1 * row as f32 + 0.2 * column as f32)
}

fn plain(map_c: &Array2<f32>) -> Annotation<'_> {
    Annotation {
        map_c,
        quantity: Quantity::Surface,
        range_c: (12.0, 20.0),
        palette: Palette::default(),
        units: Units::Si,
        sound_c: None,
        dew_point_c: None,
        outline_px: &[],
        unseen: None,
        marks: Vec::new(),
        axis: Vec::new(),
        bar_px: None,
        strip: Strip::default(),
    }
}

fn text(annotation: &Annotation) -> String {
    draw(annotation).unwrap_err().to_string()
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let map = map();
    let first = draw(&plain(&map)).unwrap();
    // A thread of its own starts with no glyphs kept.
    let other = std::thread::spawn(move || draw(&plain(&map)).unwrap()).join().unwrap();
    assert!(first == other);
}

#[test]
fn maps_that_cannot_be_drawn_are_refused() {
    let empty = Array2::zeros((0, 5));
    assert!(text(&plain(&empty)).contains("5 × 0"));
    let map = map();
    for range_c in [(f64::NAN, 20.0), (20.0, 12.0), (0.0, f64::INFINITY), (-1e9, 0.0)] {
        assert!(
            text(&Annotation { range_c, ..plain(&map) }).contains("hint:"),
            "{range_c:?}"
        );
    }
    let mask = Array2::from_elem((24, 31), false);
    assert!(
        text(&Annotation {
            unseen: Some(&mask),
            ..plain(&map)
        })
        .contains("31 × 24 places for a map of 32 × 24")
    );
}

#[test]
fn a_range_of_nothing_is_widened() {
    assert_eq!(shown_range((15.0, 15.0)).unwrap(), (14.75, 15.25));
    assert_eq!(shown_range((10.0, 20.0)).unwrap(), (10.0, 20.0));
}

#[test]
fn odd_sizes_and_empty_maps_are_drawn() {
    for (rows, columns) in [(1, 1), (1, 3000), (3000, 1), (7, 2561), (200, 2)] {
        let map = Array2::from_elem((rows, columns), 15.0);
        let mask = Array2::from_elem((rows, columns), true);
        draw(&Annotation {
            unseen: Some(&mask),
            ..plain(&map)
        })
        .unwrap();
    }
    let nothing = Array2::from_elem((48, 64), f32::NAN);
    draw(&plain(&nothing)).unwrap();
}

#[test]
fn damaged_outlines_and_endless_texts_are_drawn() {
    let map = map();
    let outline_px = [
        [f64::NAN, 1.0],
        [1e300, -1e300],
        [-5.0, 4.0],
        [f64::INFINITY, 0.0],
        [10.0, 10.0],
    ];
    let mark = Mark {
        label: "12345678901".repeat(50),
        kind: MarkKind::SetAside,
        outline_px: outline_px.to_vec(),
    };
    let line = ZoneLine {
        label: mark.label.clone(),
        kind: mark.kind,
        text: "x".repeat(100_000),
    };
    let annotation = Annotation {
        outline_px: &outline_px,
        marks: vec![mark.clone(); 20],
        axis: vec![
            AxisTick {
                px: [1e9, f64::NAN],
                label: "y".repeat(10_000)
            };
            3
        ],
        sound_c: Some(f64::NAN),
        dew_point_c: Some(f64::INFINITY),
        strip: Strip {
            title: "t\u{0}\n".repeat(50_000),
            lines: vec!["word ".repeat(20_000); 1000],
            zone_lines: vec![line; 1000],
            caution: "c".repeat(100_000),
        },
        ..plain(&map)
    };
    let bytes = draw(&annotation).unwrap();
    assert!(bytes.len() < 3_000_000, "{} bytes", bytes.len());
}

#[test]
fn a_reading_is_a_square_of_its_own_colour() {
    let map = map();
    let canvas = compose(&plain(&map)).unwrap();
    let square = |column: usize, row: usize| {
        let factor = 29; // 900 / 32, rounded up
        let place =
            |dx: usize, dy: usize| canvas.indices()[(row * factor + dy) * canvas.width() + column * factor + dx];
        let first = place(0, 0);
        assert!((0..factor).all(|dy| (0..factor).all(|dx| place(dx, dy) == first)));
        first
    };
    // 12 °C at the low end; 12 + 0.1·10 + 0.2·20 = 17 °C: 5/8 of 224 steps, give or take the rounding of 32-bit numbers.
    assert_eq!(square(0, 0), canvas::COLDEST);
    assert!(square(20, 10).abs_diff(canvas::COLDEST + 140) <= 1);
}

#[test]
fn the_key_explains_what_occurs_and_nothing_else() {
    let map = map();
    let layout = Layout::of(32, 24);
    assert_eq!(signs(&plain(&map), &layout, false), []);
    let mask = Array2::from_elem((24, 32), false);
    let outline_px = [[1.0, 1.0], [9.0, 1.0], [9.0, 9.0]];
    let mark = Mark {
        label: "a".to_owned(),
        kind: MarkKind::SetAside,
        outline_px: outline_px.to_vec(),
    };
    let annotation = Annotation {
        unseen: Some(&mask),
        outline_px: &outline_px,
        marks: vec![mark],
        ..plain(&map)
    };
    assert_eq!(
        signs(&annotation, &layout, true),
        [Sign::Outline, Sign::SetAside, Sign::Missing]
    );
}

#[test]
fn a_fitting_range_holds_the_asset_and_not_the_wall() {
    let mut map = Array2::from_elem((60, 80), 30.0_f32);
    for row in 20..40 {
        for column in 20..60 {
            map[[row, column]] = 10.0 + 0.1 * (column - 20) as f32;
        }
    }
    let outline_px = [[20.0, 20.0], [59.0, 20.0], [59.0, 39.0], [20.0, 39.0]];
    let (low, high) = fitting_range(&map, &outline_px);
    assert!(
        (9.0..=10.1).contains(&low) && (13.8..=15.5).contains(&high),
        "{low} to {high}"
    );
    let (low, high) = fitting_range(&map, &[]);
    assert!(low <= 11.0 && high >= 30.0, "{low} to {high}");
    assert_eq!(fitting_range(&Array2::from_elem((5, 5), f32::NAN), &[]), (0.0, 1.0));
}

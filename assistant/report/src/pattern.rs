//! Drawings of tightening orders: SVG 1.1 as text.

use crate::escaped;
use std::f64::consts::{PI, TAU};
use std::fmt::Write;
use steps::quantity::{Pattern, RectangularArray};

/// More lines than this across a circle only hide one another.
const MAX_LINES: usize = 12;

/// A circle of fasteners, seen from the front, fastener 1 at the top and clockwise: each shows the rank in which it
/// is tightened, the first one is filled, and up to twelve of them a thin line leads from one to the next. `title` is
/// read out by screen readers.
pub fn circle_drawing(pattern: Pattern, count: u16, title: &str) -> String {
    const RING: f64 = 80.0;
    let order = pattern.order(count);
    let radius = (0.8 * PI * RING / f64::from(count.max(1))).min(13.0);
    let at = |number: u16| {
        let angle = TAU * f64::from(number.saturating_sub(1)) / f64::from(count.max(1));
        (100.0 + RING * angle.sin(), 100.0 - RING * angle.cos())
    };
    let points: Vec<_> = order.into_iter().map(at).collect();
    let line = if points.len() <= MAX_LINES {
        &points[..]
    } else {
        &[]
    };
    drawing((200.0, 200.0), radius, &points, line, title)
}

/// Rows and columns of fasteners with the rank in which each is tightened, from the middle out.
pub fn array_drawing(array: RectangularArray, title: &str) -> String {
    const APART: f64 = 36.0;
    let size = |n: u8| APART * (f64::from(n) + 0.2);
    let at = |n: u8| APART * (f64::from(n) - 0.4);
    let points: Vec<_> = array
        .spiral()
        .into_iter()
        .map(|place| (at(place.column), at(place.row)))
        .collect();
    drawing(
        (size(array.columns), size(array.rows)),
        13.0,
        &points,
        &points,
        title,
    )
}

fn drawing(
    size: (f64, f64),
    radius: f64,
    points: &[(f64, f64)],
    line: &[(f64, f64)],
    title: &str,
) -> String {
    let mut svg = String::new();
    // Writing to a String can't fail, so the results carry nothing.
    let _ = write!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {:.1} {:.1}\" role=\"img\">\n\
         <title>{}</title>\n",
        size.0,
        size.1,
        // XML 1.0 forbids most control characters.
        escaped(&title.replace(
            |c: char| c.is_control() || matches!(c, '\u{FFFE}' | '\u{FFFF}'),
            ""
        ))
    );
    if line.len() > 1 {
        let points: Vec<String> = line.iter().map(|(x, y)| format!("{x:.1},{y:.1}")).collect();
        let _ = writeln!(
            svg,
            "<polyline fill=\"none\" stroke=\"#999\" stroke-width=\"0.7\" points=\"{}\"/>",
            points.join(" ")
        );
    }
    let font = radius;
    for (rank, (x, y)) in (1..).zip(points) {
        let (ground, ink) = if rank == 1 {
            ("#000", "#fff")
        } else {
            ("#fff", "#000")
        };
        let _ = write!(
            svg,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{radius:.1}\" fill=\"{ground}\" stroke=\"#000\"/>\n\
             <text x=\"{x:.1}\" y=\"{:.1}\" font-family=\"sans-serif\" font-size=\"{font:.1}\" \
             fill=\"{ink}\" text-anchor=\"middle\">{rank}</text>\n",
            y + 0.35 * font
        );
    }
    svg.push_str("</svg>\n");
    svg
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The ranks in the order in which they are drawn.
    fn ranks(svg: &str) -> Vec<u16> {
        svg.lines()
            .filter(|line| line.starts_with("<text"))
            .map(|line| {
                let text = line.split_once('>').unwrap().1;
                text.split_once('<').unwrap().0.parse().unwrap()
            })
            .collect()
    }

    #[test]
    fn every_fastener_has_its_rank() {
        for count in [0, 1, 4, 5, 10, 60] {
            let svg = circle_drawing(Pattern::Star, count, "Wheel nuts");
            assert_eq!(ranks(&svg), (1..=count).collect::<Vec<_>>());
            assert_eq!(svg.matches("<circle").count(), usize::from(count));
            assert!(!svg.contains("NaN") && !svg.contains("inf"));
        }
        let head = array_drawing(
            RectangularArray {
                rows: 2,
                columns: 5,
            },
            "Head",
        );
        assert_eq!(ranks(&head), (1..=10).collect::<Vec<_>>());
    }

    /// Middle and radius of every circle.
    fn circles(svg: &str) -> Vec<[f64; 3]> {
        let number = |line: &str, name: &str| -> f64 {
            let after = line.split_once(&format!(" {name}=\"")).unwrap().1;
            after.split_once('"').unwrap().0.parse().unwrap()
        };
        svg.lines()
            .filter(|line| line.starts_with("<circle"))
            .map(|line| ["cx", "cy", "r"].map(|name| number(line, name)))
            .collect()
    }

    #[test]
    fn no_two_circles_touch_and_none_leaves_the_drawing() {
        let circle = |count| circle_drawing(Pattern::Star, count, "Flange");
        let arrays = (1..=8).flat_map(|rows| (1..=8).map(move |columns| (rows, columns)));
        let arrays = arrays.map(|(rows, columns)| {
            let array = RectangularArray { rows, columns };
            (
                array_drawing(array, "Head"),
                36.0 * (f64::from(columns) + 0.2),
                36.0 * (f64::from(rows) + 0.2),
            )
        });
        for (svg, width, height) in (1..=60)
            .map(|count| (circle(count), 200.0, 200.0))
            .chain(arrays)
        {
            let all = circles(&svg);
            for (i, [x, y, r]) in all.iter().enumerate() {
                assert!(
                    x - r > 0.0 && x + r < width && y - r > 0.0 && y + r < height,
                    "{svg}"
                );
                for [other_x, other_y, other_r] in &all[i + 1..] {
                    assert!((x - other_x).hypot(y - other_y) > r + other_r, "{svg}");
                }
            }
        }
    }

    #[test]
    fn lines_are_drawn_while_they_can_be_followed() {
        let lines = |count| {
            circle_drawing(Pattern::Star, count, "Flange")
                .matches("<polyline")
                .count()
        };
        assert_eq!([1, 2, 12, 13, 24].map(lines), [0, 1, 1, 0, 0]);
        let svg = circle_drawing(Pattern::Star, 5, "Flange");
        assert_eq!(
            svg.matches("fill=\"#000\" stroke").count(),
            1,
            "only the first is filled"
        );
    }

    #[test]
    fn the_second_nut_of_a_star_lies_two_further_on() {
        let svg = circle_drawing(Pattern::Star, 5, "Wheel nuts");
        let second = svg
            .lines()
            .filter(|line| line.starts_with("<circle"))
            .nth(1)
            .unwrap();
        // Nut 3 of 5: 144° clockwise from the top, on a ring of 80 about 100, 100.
        assert!(second.contains("cx=\"147.0\" cy=\"164.7\""), "{second}");
    }

    #[test]
    fn a_title_cannot_break_the_drawing() {
        let svg = circle_drawing(Pattern::Star, 1, "<script>\"&\u{0}");
        assert!(svg.contains("<title>&lt;script&gt;&quot;&amp;</title>"));
    }
}

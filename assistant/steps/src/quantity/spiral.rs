//! The order of a rectangular array of fasteners, such as a cylinder head's: a spiral from the middle out.

/// Fasteners in rows and columns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct RectangularArray {
    /// Rows, from the top.
    pub rows: u8,
    /// Columns, from the left.
    pub columns: u8,
}

/// A fastener's place in an array, counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Place {
    /// Row from the top.
    pub row: u8,
    /// Column from the left.
    pub column: u8,
}

impl RectangularArray {
    /// How many fasteners it has.
    pub fn count(self) -> u16 {
        u16::from(self.rows) * u16::from(self.columns)
    }

    /// Each place once, from the middle outward, turn by turn of a spiral, so that the part is pressed flat towards
    /// its edges (common practice, no source; a maker's drawing goes first). Neighbours do follow one another
    /// here: that is what the trade draws for heads.
    pub fn spiral(self) -> Vec<Place> {
        if self.count() == 0 {
            return Vec::new();
        }
        // Along the longer side the spiral goes second, so that the middle row or pair comes first.
        if self.rows > self.columns {
            let turned = Self {
                rows: self.columns,
                columns: self.rows,
            };
            let turn = |place: Place| Place {
                row: place.column,
                column: place.row,
            };
            return turned.spiral().into_iter().map(turn).collect();
        }
        let (rows, columns) = (i32::from(self.rows), i32::from(self.columns));
        let (mut row, mut column) = ((rows - 1) / 2, (columns - 1) / 2);
        let mut places = Vec::with_capacity(usize::from(self.count()));
        let mut keep = |row: i32, column: i32| {
            if (0..rows).contains(&row)
                && (0..columns).contains(&column)
                && let (Ok(row), Ok(column)) = (u8::try_from(row + 1), u8::try_from(column + 1))
            {
                places.push(Place { row, column });
            }
        };
        keep(row, column);
        // Down, right, up, left, each length twice: 1, 1, 2, 2, 3, 3, … until every turn lies outside.
        let turns = [(1, 0), (0, 1), (-1, 0), (0, -1)];
        for (side, (down, right)) in (0..4 * columns).zip(turns.into_iter().cycle()) {
            for _ in 0..side / 2 + 1 {
                row += down;
                column += right;
                keep(row, column);
            }
        }
        places
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::HashSet;

    /// The rank in which each place comes, as the trade draws it.
    fn drawn(rows: u8, columns: u8) -> Vec<Vec<usize>> {
        let order = RectangularArray { rows, columns }.spiral();
        let rank = |row, column| {
            order
                .iter()
                .position(|p| *p == Place { row, column })
                .unwrap()
                + 1
        };
        (1..=rows)
            .map(|row| (1..=columns).map(|column| rank(row, column)).collect())
            .collect()
    }

    /// Common practice, no source: a ten-bolt head, from the middle pair outward.
    #[test]
    fn a_ten_bolt_head_goes_from_the_middle_out() {
        assert_eq!(drawn(2, 5), [[9, 5, 1, 4, 8], [10, 6, 2, 3, 7]]);
        assert_eq!(drawn(5, 2), [[9, 10], [5, 6], [1, 2], [4, 3], [8, 7]]);
        assert_eq!(drawn(1, 5), [[5, 3, 1, 2, 4]]);
        assert_eq!(drawn(1, 1), [[1]]);
    }

    proptest! {
        #[test]
        fn each_once_and_never_back_inward(rows in 0u8..40, columns in 0u8..40) {
            let array = RectangularArray { rows, columns };
            let order = array.spiral();
            prop_assert_eq!(order.len(), usize::from(array.count()));
            let all: HashSet<_> = order.iter().copied().collect();
            prop_assert_eq!(all.len(), order.len());
            // The ring around the first place never shrinks.
            let ring = |p: &Place| {
                p.row.abs_diff(order[0].row).max(p.column.abs_diff(order[0].column))
            };
            prop_assert!(order.windows(2).all(|pair| ring(&pair[0]) <= ring(&pair[1])));
        }
    }
}

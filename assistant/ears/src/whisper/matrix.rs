//! Products of matrices: the one place that speaks to the crate `gemm`, whose interface takes raw
//! pointers as a C library's does. Everything else sees slices.

use gemm::Parallelism;

/// How the elements of a matrix lie in a slice.
#[derive(Debug, Clone, Copy)]
pub struct Shape {
    pub rows: usize,
    pub columns: usize,
    pub row_stride: usize,
    pub column_stride: usize,
}

impl Shape {
    /// Row after row, without gaps.
    pub fn dense(rows: usize, columns: usize) -> Self {
        Self {
            rows,
            columns,
            row_stride: columns,
            column_stride: 1,
        }
    }

    /// Row after row, each `row_stride` elements after the one before.
    pub fn strided(rows: usize, columns: usize, row_stride: usize) -> Self {
        Self {
            rows,
            columns,
            row_stride,
            column_stride: 1,
        }
    }

    /// The same elements with rows and columns exchanged.
    pub fn transposed(self) -> Self {
        Self {
            rows: self.columns,
            columns: self.rows,
            row_stride: self.column_stride,
            column_stride: self.row_stride,
        }
    }

    /// Elements from the first to the last, both included.
    fn extent(self) -> usize {
        if self.rows == 0 || self.columns == 0 {
            return 0;
        }
        (self.rows - 1) * self.row_stride + (self.columns - 1) * self.column_stride + 1
    }
}

/// What becomes of what stands in the destination.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Onto {
    /// The product replaces it.
    Nothing,
    /// The product is added to it.
    Present,
}

/// `destination = [destination +] scale · left · right`, on `threads` threads of the present rayon pool.
///
/// # Panics
/// When a slice is shorter than its shape or the shapes don't fit: faults of the caller, who knows both.
pub fn multiply(
    (destination, at): (&mut [f32], Shape),
    (left, left_at): (&[f32], Shape),
    (right, right_at): (&[f32], Shape),
    scale: f32,
    onto: Onto,
    threads: usize,
) {
    assert_eq!(
        (at.rows, at.columns),
        (left_at.rows, right_at.columns),
        "outer dimensions"
    );
    assert_eq!(left_at.columns, right_at.rows, "inner dimensions");
    assert!(destination.len() >= at.extent(), "destination too short");
    assert!(
        left.len() >= left_at.extent() && right.len() >= right_at.extent(),
        "factor too short"
    );
    // Two elements of the destination in one place would be written by two threads at once.
    assert!(
        at.column_stride == 1 && at.row_stride >= at.columns
            || at.row_stride == 1 && at.column_stride >= at.rows,
        "destination overlaps itself"
    );
    if at.extent() == 0 {
        return;
    }
    let parallelism = if threads > 1 {
        Parallelism::Rayon(threads)
    } else {
        Parallelism::None
    };
    // SAFETY: every element that gemm touches lies at `row · row_stride + column · column_stride` within
    // its slice, as the asserts on the extents have shown; the destination is borrowed mutably, so neither
    // factor lies in it, and its elements don't overlap. Strides come from lengths of slices in memory and
    // so fit in an isize.
    unsafe {
        gemm::gemm(
            at.rows,
            at.columns,
            left_at.columns,
            destination.as_mut_ptr(),
            at.column_stride as isize,
            at.row_stride as isize,
            onto == Onto::Present,
            left.as_ptr(),
            left_at.column_stride as isize,
            left_at.row_stride as isize,
            right.as_ptr(),
            right_at.column_stride as isize,
            right_at.row_stride as isize,
            1.0,
            scale,
            false,
            false,
            false,
            parallelism,
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_product_by_hand() {
        let left = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0];
        let right = [1.0, 0.0, 2.0, 1.0, 0.0, 3.0];
        let mut out = [1.0; 4];
        let (two_three, three_two) = (Shape::dense(2, 3), Shape::dense(3, 2));
        multiply(
            (&mut out, Shape::dense(2, 2)),
            (&left, two_three),
            (&right, three_two),
            2.0,
            Onto::Present,
            1,
        );
        assert_eq!(out, [11.0, 23.0, 29.0, 47.0]);
        multiply(
            (&mut out, Shape::dense(2, 2)),
            (&left, two_three),
            (&right, two_three.transposed()),
            1.0,
            Onto::Nothing,
            1,
        );
        assert_eq!(out, [7.0, 10.0, 16.0, 22.0]);
    }

    #[test]
    #[should_panic(expected = "factor too short")]
    fn a_slice_that_is_too_short_is_refused() {
        multiply(
            (&mut [0.0; 4], Shape::dense(2, 2)),
            (&[0.0; 3], Shape::dense(2, 2)),
            (&[0.0; 4], Shape::dense(2, 2)),
            1.0,
            Onto::Nothing,
            1,
        );
    }
}

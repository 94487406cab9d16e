//! Matrices whose weights are rounded to eight bits, and their products with states in sixteen.
//!
//! A quarter of the memory of single precision, which is what the decoder waits for: with two dozen rows at
//! once it reads more than it computes. The weights of one output share a scale, the channels of one state
//! another. All sums are of whole numbers, so every processor gets the same ones, whichever of the kernels it
//! runs.
//!
//! # Why eight bits?
//!
//! With two dozen rows at once the decoder is limited by memory, and sums of whole numbers come out the same on every
//! processor. Loading, preparing 100 phrases and hearing 27 readbacks among them took 11.3 s of processor time in
//! single precision. Rounded it took 6.4 s, with the rounding itself in wide registers 5.0 s, and with each phrase
//! written in one way only (with a capital first) 4.3 s. The log-probability of a token moves by 0.04 on average.
//!
//! The beam was then narrowed from 24 to 16, which corresponds to 32 with two ways of writing. Whether that alone
//! loses a phrase has not been measured.

use super::layers::{ROUNDER, widely};
use std::ops::Range;

/// Outputs that are computed side by side: the lanes of the widest registers.
pub const LANES: usize = 16;

/// Bytes of the weights of two channels for one group of outputs.
const PAIR: usize = 2 * LANES;

/// Greatest rounded weight.
const GREATEST: f32 = 127.0;

/// Whole sums of one group of outputs.
type Sums = [i32; LANES];

/// A matrix of rounded weights.
pub struct Quantized {
    /// Group of outputs after group; in each, pair of channels after pair; in that, output after output.
    packed: Vec<i8>,
    /// What a weight of each output has to be multiplied by.
    scales: Vec<f32>,
    pairs: usize,
    outputs: usize,
}

/// States rounded for a product, with their channels in pairs.
pub struct States {
    pairs: Vec<i32>,
    scales: Vec<f32>,
    width: usize,
}

impl States {
    /// Rounds `rows` rows of `inputs` channels that start `stride` elements apart.
    pub fn new(input: &[f32], inputs: usize, rows: usize, stride: usize) -> Self {
        // So small that no sum of products leaves 32 bits.
        let most = (f64::from(i32::MAX) / (f64::from(GREATEST) * inputs.max(1) as f64)).floor();
        let most = (most as f32).min(32_000.0);
        let width = inputs.div_ceil(2);
        let mut states = Self {
            pairs: Vec::with_capacity(rows * width),
            scales: Vec::with_capacity(rows),
            width,
        };
        widely(
            #[inline(always)]
            || {
                for row in 0..rows {
                    states.take(&input[row * stride..row * stride + inputs], most);
                }
            },
        );
        states
    }

    #[inline(always)]
    fn take(&mut self, row: &[f32], most: f32) {
        let greatest = greatest_size(row);
        let scale = if greatest > 0.0 { greatest / most } else { 1.0 };
        let inverse = 1.0 / scale;
        // The lowest bits are then those of the rounded number.
        let round = |value: f32| (value * inverse + ROUNDER).to_bits();
        self.scales.push(scale);
        let (pairs, rest) = row.as_chunks::<2>();
        let start = self.pairs.len();
        self.pairs.resize(start + self.width, 0);
        for (place, two) in self.pairs[start..].iter_mut().zip(pairs) {
            *place = (round(two[0]) & 0xffff | round(two[1]) << 16) as i32;
        }
        if let ([last], Some(place)) = (rest, self.pairs.last_mut()) {
            *place = (round(*last) & 0xffff) as i32;
        }
    }

    fn rows(&self) -> usize {
        self.scales.len()
    }

    fn row(&self, row: usize) -> &[i32] {
        &self.pairs[row * self.width..(row + 1) * self.width]
    }
}

impl Quantized {
    /// Rounds weights: `read` is given an output and writes its weights, one for each input.
    pub fn new(outputs: usize, inputs: usize, read: impl Fn(usize, &mut [f32])) -> Self {
        let (groups, pairs) = (outputs.div_ceil(LANES), inputs.div_ceil(2));
        let mut scales = Vec::with_capacity(outputs);
        let mut packed = vec![0; groups * pairs * PAIR];
        let mut weights = vec![0.0; inputs];
        for output in 0..outputs {
            read(output, &mut weights);
            let greatest = greatest_size(&weights);
            let scale = if greatest > 0.0 {
                greatest / GREATEST
            } else {
                1.0
            };
            scales.push(scale);
            let inverse = 1.0 / scale;
            let group = &mut packed[output / LANES * pairs * PAIR..][..pairs * PAIR];
            for (input, weight) in weights.iter().enumerate() {
                let place = input / 2 * PAIR + output % LANES * 2 + input % 2;
                group[place] = (weight * inverse + ROUNDER).to_bits() as i8;
            }
        }
        Self {
            packed,
            scales,
            pairs,
            outputs,
        }
    }

    /// How many groups of [`LANES`] outputs there are, the last one perhaps not full.
    pub fn groups(&self) -> usize {
        self.outputs.div_ceil(LANES)
    }

    /// Writes, for the states in `rows`, the outputs of these groups: row after row, `stride` elements apart.
    /// What a last group has too many stays as it was.
    pub fn multiply(
        &self,
        states: &States,
        rows: Range<usize>,
        groups: Range<usize>,
        output: &mut [f32],
        stride: usize,
    ) {
        let rows = rows.start..rows.end.min(states.rows());
        let kernel = Kernel::of_this_processor();
        let first = groups.start * LANES;
        for group in groups {
            let panel = &self.packed[group * self.pairs * PAIR..][..self.pairs * PAIR];
            let outputs = group * LANES..((group + 1) * LANES).min(self.outputs);
            let mut write = |row: usize, sums: &Sums| {
                let start = (row - rows.start) * stride + outputs.start - first;
                let scale = states.scales[row];
                let places = output[start..].iter_mut();
                for ((place, sum), of_output) in places.zip(sums).zip(&self.scales[outputs.clone()])
                {
                    *place = *sum as f32 * (scale * of_output);
                }
            };
            let mut row = rows.start;
            while row < rows.end {
                row += match rows.end - row {
                    8.. => kernel.rows::<8>(panel, states, row, &mut write),
                    7 => kernel.rows::<7>(panel, states, row, &mut write),
                    6 => kernel.rows::<6>(panel, states, row, &mut write),
                    5 => kernel.rows::<5>(panel, states, row, &mut write),
                    4 => kernel.rows::<4>(panel, states, row, &mut write),
                    3 => kernel.rows::<3>(panel, states, row, &mut write),
                    2 => kernel.rows::<2>(panel, states, row, &mut write),
                    _ => kernel.rows::<1>(panel, states, row, &mut write),
                };
            }
        }
    }
}

#[inline(always)]
fn greatest_size(values: &[f32]) -> f32 {
    let mut lanes = [0.0; LANES];
    let (chunks, rest) = values.as_chunks::<LANES>();
    let larger = |a: f32, b: f32| if b > a { b } else { a };
    for chunk in chunks {
        for (lane, value) in lanes.iter_mut().zip(chunk) {
            *lane = larger(*lane, value.abs());
        }
    }
    let rest = rest.iter().map(|value| value.abs());
    lanes.into_iter().chain(rest).fold(0.0, larger)
}

/// Which instructions the products are computed with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kernel {
    #[cfg(target_arch = "x86_64")]
    Vnni,
    #[cfg(target_arch = "x86_64")]
    Avx2,
    Plain,
}

impl Kernel {
    fn of_this_processor() -> Self {
        Self::all().into_iter().next().unwrap_or(Self::Plain)
    }

    /// Those that this processor has, the fastest first.
    fn all() -> Vec<Self> {
        let mut all = Vec::with_capacity(3);
        #[cfg(target_arch = "x86_64")]
        {
            if x86::has_vnni() {
                all.push(Self::Vnni);
            }
            if x86::has_avx2() {
                all.push(Self::Avx2);
            }
        }
        all.push(Self::Plain);
        all
    }

    /// Computes `R` rows from `row` on and hands each to `write`; returns how many.
    fn rows<const R: usize>(
        self,
        panel: &[i8],
        states: &States,
        row: usize,
        write: &mut impl FnMut(usize, &Sums),
    ) -> usize {
        let of: [&[i32]; R] = std::array::from_fn(|n| states.row(row + n));
        let sums = match self {
            #[cfg(target_arch = "x86_64")]
            Self::Vnni => x86::vnni(panel, of),
            #[cfg(target_arch = "x86_64")]
            Self::Avx2 => x86::avx2(panel, of),
            Self::Plain => plain(panel, of),
        };
        for (n, sums) in sums.iter().enumerate() {
            write(row + n, sums);
        }
        R
    }
}

fn plain<const R: usize>(panel: &[i8], states: [&[i32]; R]) -> [Sums; R] {
    let mut sums = [[0; LANES]; R];
    for (at, weights) in panel.as_chunks::<PAIR>().0.iter().enumerate() {
        for (sums, states) in sums.iter_mut().zip(states) {
            let (first, second) = (i32::from(states[at] as i16), states[at] >> 16);
            for (sum, two) in sums.iter_mut().zip(weights.as_chunks::<2>().0) {
                *sum += i32::from(two[0]) * first + i32::from(two[1]) * second;
            }
        }
    }
    sums
}

/// The kernels for processors of the kind x86-64: the only place that speaks to their wide instructions.
#[cfg(target_arch = "x86_64")]
mod x86 {
    use super::{LANES, PAIR, Sums};
    use std::arch::x86_64::*;
    use std::sync::LazyLock;

    pub fn has_vnni() -> bool {
        static HAS: LazyLock<bool> = LazyLock::new(|| {
            is_x86_feature_detected!("avx512f")
                && is_x86_feature_detected!("avx512bw")
                && is_x86_feature_detected!("avx512vnni")
        });
        *HAS
    }

    pub fn has_avx2() -> bool {
        static HAS: LazyLock<bool> = LazyLock::new(|| is_x86_feature_detected!("avx2"));
        *HAS
    }

    /// # Panics
    /// When the processor lacks it, or a state is shorter than the panel: faults of the caller.
    pub fn vnni<const R: usize>(panel: &[i8], states: [&[i32]; R]) -> [Sums; R] {
        assert!(has_vnni(), "asked for instructions that aren't there");
        // SAFETY: the processor has the instructions that the function is compiled for.
        unsafe { sums_vnni(panel, states) }
    }

    #[target_feature(enable = "avx512f,avx512bw,avx512vnni")]
    fn sums_vnni<const R: usize>(panel: &[i8], states: [&[i32]; R]) -> [Sums; R] {
        let panel = panel.as_chunks::<PAIR>().0;
        let states = states.map(|state| &state[..panel.len()]);
        let mut sums = [_mm512_setzero_si512(); R];
        for (at, weights) in panel.iter().enumerate() {
            // SAFETY: an array of 32 bytes may be read as 32 bytes, wherever it lies.
            let weights = unsafe { _mm256_loadu_si256(weights.as_ptr().cast()) };
            let weights = _mm512_cvtepi8_epi16(weights);
            for (sum, state) in sums.iter_mut().zip(states) {
                *sum = _mm512_dpwssd_epi32(*sum, weights, _mm512_set1_epi32(state[at]));
            }
        }
        sums.map(|sum| {
            let mut lanes = [0; LANES];
            // SAFETY: 16 numbers of four bytes take the 64 bytes that are written.
            unsafe { _mm512_storeu_si512(lanes.as_mut_ptr().cast(), sum) };
            lanes
        })
    }

    /// # Panics
    /// When the processor lacks it, or a state is shorter than the panel: faults of the caller.
    pub fn avx2<const R: usize>(panel: &[i8], states: [&[i32]; R]) -> [Sums; R] {
        assert!(has_avx2(), "asked for instructions that aren't there");
        // SAFETY: the processor has the instructions that the function is compiled for.
        unsafe { sums_avx2(panel, states) }
    }

    #[target_feature(enable = "avx2")]
    fn sums_avx2<const R: usize>(panel: &[i8], states: [&[i32]; R]) -> [Sums; R] {
        let panel = panel.as_chunks::<PAIR>().0;
        let states = states.map(|state| &state[..panel.len()]);
        let mut sums = [[_mm256_setzero_si256(); 2]; R];
        for (at, weights) in panel.iter().enumerate() {
            let halves = weights.as_chunks::<LANES>().0;
            // SAFETY: each half is an array of 16 bytes.
            let halves = unsafe {
                [
                    _mm_loadu_si128(halves[0].as_ptr().cast()),
                    _mm_loadu_si128(halves[1].as_ptr().cast()),
                ]
            };
            let weights = halves.map(|half| _mm256_cvtepi8_epi16(half));
            for (sums, state) in sums.iter_mut().zip(states) {
                let state = _mm256_set1_epi32(state[at]);
                for (sum, weights) in sums.iter_mut().zip(weights) {
                    *sum = _mm256_add_epi32(*sum, _mm256_madd_epi16(weights, state));
                }
            }
        }
        sums.map(|[low, high]| {
            let mut lanes = [0; LANES];
            let (first, second) = lanes.split_at_mut(LANES / 2);
            // SAFETY: each half is 8 numbers of four bytes, the 32 bytes that are written.
            unsafe {
                _mm256_storeu_si256(first.as_mut_ptr().cast(), low);
                _mm256_storeu_si256(second.as_mut_ptr().cast(), high);
            }
            lanes
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Evenly spread over −1 to 1, always the same.
    fn numbers(count: usize, mut state: u64) -> Vec<f32> {
        (0..count)
            .map(|_| {
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1);
                (state >> 40) as f32 / (1u64 << 23) as f32 - 1.0
            })
            .collect()
    }

    #[test]
    fn products_are_near_the_exact_ones() {
        let (outputs, inputs, rows) = (35, 50, 13);
        let weights = numbers(outputs * inputs, 1);
        let input = numbers(rows * inputs, 2);
        let rounded = Quantized::new(outputs, inputs, |output, row| {
            row.copy_from_slice(&weights[output * inputs..][..inputs]);
        });
        let states = States::new(&input, inputs, rows, inputs);
        let mut found = vec![f32::NAN; rows * outputs];
        rounded.multiply(&states, 0..rows, 0..rounded.groups(), &mut found, outputs);
        for row in 0..rows {
            for output in 0..outputs {
                let exact: f32 = (0..inputs)
                    .map(|n| weights[output * inputs + n] * input[row * inputs + n])
                    .sum();
                let found = found[row * outputs + output];
                assert!((found - exact).abs() < 0.05, "{found} {exact}");
            }
        }
    }

    #[test]
    fn every_kernel_gives_the_same_whole_sums_and_none_leaves_its_bits() {
        let inputs = 1536;
        let rounded = Quantized::new(LANES, inputs, |output, row| {
            for (n, weight) in row.iter_mut().enumerate() {
                *weight = if (output + n) % 2 == 0 { 1.0 } else { -1.0 };
            }
        });
        let alike = vec![3.0; inputs];
        let alternating: Vec<f32> = (0..inputs)
            .map(|n| if n % 2 == 0 { 9.0 } else { -9.0 })
            .collect();
        let input = [alike, alternating, numbers(6 * inputs, 3)].concat();
        let states = States::new(&input, inputs, 8, inputs);
        let sums = |kernel: Kernel| {
            let mut all = Vec::new();
            kernel.rows::<8>(&rounded.packed, &states, 0, &mut |_, sums| all.push(*sums));
            all
        };
        let plain = sums(Kernel::Plain);
        assert_eq!(plain[0], [0; LANES]);
        assert!(plain[1][0] > 2_000_000_000 && plain[1][1] < -2_000_000_000);
        for kernel in Kernel::all() {
            assert_eq!(sums(kernel), plain, "{kernel:?}");
        }
    }

    #[test]
    fn states_that_are_nothing_or_no_numbers_do_no_harm() {
        let rounded = Quantized::new(3, 4, |_, row| row.fill(0.0));
        let states = States::new(
            &[0.0, 0.0, 0.0, 0.0, f32::NAN, 1.0, 2.0, f32::INFINITY],
            4,
            2,
            4,
        );
        let mut found = [1.0; 6];
        rounded.multiply(&states, 0..2, 0..1, &mut found, 3);
        assert_eq!(found[..3], [0.0; 3]);
    }
}

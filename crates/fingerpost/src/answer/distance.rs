//! How far two orders are from each other.

/// The most slips that are looked for between an answer and a road.
pub(super) const MOST_SLIPS: usize = 8;

/// Cells of a table above which two orders are not compared in the middle.
const MOST_CELLS: usize = 4_000_000;

/// Rows of a table for [`slips`], kept for the next comparison.
#[derive(Default)]
pub(super) struct Rows {
    rows: [Vec<u32>; 3],
}

/// The slips that lie between an answer and a road: a measure left out, one too many, another in its place, or two neighbours
/// exchanged, each counted as one (the distance of Damerau in its restricted form; F. J. Damerau, "A technique for computer detection
/// and correction of spelling errors", Communications of the ACM 7, 1964). `None` beyond [`MOST_SLIPS`]. An answer is
/// held against a road that never ends by the beginning of it that comes nearest, of those with at least so many steps.
pub(super) fn slips<T: PartialEq>(
    rows: &mut Rows,
    answer: &[T],
    road: &[T],
    never_ends: Option<usize>,
) -> Option<usize> {
    let band = MOST_SLIPS;
    let goes_on = never_ends.is_some() && road.len() > answer.len();
    if answer.len().abs_diff(road.len()) > band && !goes_on {
        return None;
    }
    // A row for each step of the answer, a column for each of the road; only the columns near the diagonal are filled.
    let far = u32::try_from(band).unwrap_or(u32::MAX) + 1;
    let width = 2 * band + 1;
    let [two_ago, ago, now] = &mut rows.rows;
    for row in [&mut *two_ago, &mut *ago, &mut *now] {
        row.clear();
        row.resize(width, far);
    }
    // Column `j` of row `i` is kept at `j + band - i`.
    let at = |i: usize, j: usize| (j + band).checked_sub(i).filter(|&at| at < width);
    let get =
        |row: &[u32], at: Option<usize>| at.and_then(|at| row.get(at)).copied().unwrap_or(far);
    for j in 0..=band.min(road.len()) {
        if let Some(slot) = at(0, j).and_then(|at| ago.get_mut(at)) {
            *slot = u32::try_from(j).unwrap_or(far);
        }
    }
    for (i, step) in answer.iter().enumerate() {
        let i = i + 1;
        now.fill(far);
        let mut best = far;
        for j in i.saturating_sub(band)..=(i + band).min(road.len()) {
            let mut cost = get(ago, at(i - 1, j)).saturating_add(1);
            if let Some(before) = j.checked_sub(1) {
                let same = road.get(before) == Some(step);
                let replaced = get(ago, at(i - 1, before)).saturating_add(u32::from(!same));
                let more = get(now, at(i, before)).saturating_add(1);
                cost = cost.min(replaced).min(more);
                let crossed = i > 1
                    && j > 1
                    && road.get(j - 2) == Some(step)
                    && answer.get(i - 2) == road.get(before);
                if crossed {
                    cost = cost.min(get(two_ago, at(i - 2, j - 2)).saturating_add(1));
                }
            }
            if let Some(slot) = at(i, j).and_then(|at| now.get_mut(at)) {
                *slot = cost;
            }
            best = best.min(cost);
        }
        if best >= far {
            return None;
        }
        std::mem::swap(two_ago, ago);
        std::mem::swap(ago, now);
    }
    let end = answer.len();
    let cost = if let Some(fewest) = never_ends {
        let columns = end.saturating_sub(band).max(fewest)..=(end + band).min(road.len());
        columns.map(|j| get(ago, at(end, j))).min().unwrap_or(far)
    } else {
        get(ago, at(end, road.len()))
    };
    (cost < far).then_some(cost as usize)
}

/// How many steps of an answer are right, taken in their order and with others between: the longest common subsequence. Where the middle of
/// the two is too long to be compared, only the beginning and the end count.
pub(super) fn in_order<T: PartialEq>(answer: &[T], road: &[T]) -> usize {
    let alike = |(a, b): &(&T, &T)| a == b;
    let start = answer.iter().zip(road).take_while(alike).count();
    let (answer, road) = (
        answer.get(start..).unwrap_or_default(),
        road.get(start..).unwrap_or_default(),
    );
    let pairs = answer.iter().rev().zip(road.iter().rev());
    let end = pairs.take_while(alike).count();
    let answer = answer.get(..answer.len() - end).unwrap_or_default();
    let road = road.get(..road.len() - end).unwrap_or_default();
    if answer.len().saturating_mul(road.len()) > MOST_CELLS {
        return start + end;
    }
    let mut row = vec![0_usize; road.len() + 1];
    for step in answer {
        let mut diagonal = 0;
        let mut before = 0;
        for (slot, other) in row.iter_mut().skip(1).zip(road) {
            let above = *slot;
            *slot = if step == other {
                diagonal + 1
            } else {
                above.max(before)
            };
            (diagonal, before) = (above, *slot);
        }
    }
    start + end + row.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn between(answer: &[u8], road: &[u8]) -> Option<usize> {
        slips(&mut Rows::default(), answer, road, None)
    }

    #[test]
    fn each_slip_counts_as_one() {
        let road = [1, 2, 3, 1, 2, 4, 5];
        assert_eq!(between(&road, &road), Some(0));
        assert_eq!(between(&[1, 2, 3, 2, 4, 5], &road), Some(1));
        assert_eq!(between(&[1, 2, 3, 3, 1, 2, 4, 5], &road), Some(1));
        assert_eq!(between(&[1, 2, 3, 1, 2, 3, 5], &road), Some(1));
        assert_eq!(between(&[1, 2, 1, 3, 2, 4, 5], &road), Some(1));
        assert_eq!(between(&[2, 1, 3, 1, 2, 5, 4], &road), Some(2));
        assert_eq!(between(&[], &road), Some(7));
        assert_eq!(between(&road, &[]), Some(7));
        assert_eq!(between(&[], &[]), Some(0));
    }

    #[test]
    fn beyond_the_most_slips_there_is_no_number() {
        assert_eq!(between(&[0; 9], &[]), None);
        assert_eq!(between(&[0; 8], &[]), Some(8));
        assert_eq!(between(&[0; 9], &[1; 9]), None);
        assert_eq!(between(&[0; 100], &[1; 100]), None);
    }

    #[test]
    fn what_lies_beyond_the_answer_on_a_road_without_end_is_no_slip() {
        let road: Vec<u8> = [1, 2].repeat(50);
        let rows = &mut Rows::default();
        assert_eq!(slips(rows, &[1, 2, 1, 2, 1], &road, Some(3)), Some(0));
        assert_eq!(slips(rows, &[1, 2, 2, 1, 2, 1], &road, Some(3)), Some(1));
        assert_eq!(slips(rows, &[1, 2, 1, 2, 1], &road, None), None);
        // What is right so far is no beginning of it.
        assert_eq!(slips(rows, &[1, 2], &road, Some(3)), Some(1));
    }

    #[test]
    fn steps_in_their_order_count() {
        assert_eq!(in_order(&[1, 2, 3], &[1, 2, 3]), 3);
        assert_eq!(in_order(&[1, 3], &[1, 2, 3]), 2);
        assert_eq!(in_order(&[3, 2, 1], &[1, 2, 3]), 1);
        assert_eq!(in_order(&[1, 9, 2, 8, 3], &[1, 2, 7, 3]), 3);
        assert_eq!(in_order::<u8>(&[], &[]), 0);
    }
}

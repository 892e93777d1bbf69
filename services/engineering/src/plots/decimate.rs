//! Fewer points without losing a spike: what a column of pixels cannot show is left out.

/// Points on the paper in their order, thinned to the first, lowest, highest and last of each
/// stay in one column of pixels. A point that is no number ends a stretch.
///
/// The points need not be in order of x: a train may go back.
pub(super) fn min_max_per_column(points: impl Iterator<Item = (f64, f64)>) -> Vec<Vec<(f64, f64)>> {
    let mut stretches = vec![Vec::new()];
    let mut column: Option<Column> = None;
    for (x, y) in points {
        if !(x.is_finite() && y.is_finite()) {
            if let Some(full) = column.take() {
                full.empty_into(&mut stretches);
            }
            if stretches.last().is_some_and(|stretch| !stretch.is_empty()) {
                stretches.push(Vec::new());
            }
            continue;
        }
        let number = x.floor();
        match &mut column {
            Some(open) if open.number == number => open.add((x, y)),
            _ => {
                if let Some(full) = column.replace(Column::new(number, (x, y))) {
                    full.empty_into(&mut stretches);
                }
            }
        }
    }
    if let Some(full) = column {
        full.empty_into(&mut stretches);
    }
    stretches.retain(|stretch| !stretch.is_empty());
    stretches
}

/// Points of one stay in a column of pixels; the number in front is the order of arrival.
struct Column {
    number: f64,
    count: usize,
    first: (usize, (f64, f64)),
    low: (usize, (f64, f64)),
    high: (usize, (f64, f64)),
    last: (usize, (f64, f64)),
}

impl Column {
    fn new(number: f64, point: (f64, f64)) -> Self {
        let only = (0, point);
        Self {
            number,
            count: 1,
            first: only,
            low: only,
            high: only,
            last: only,
        }
    }

    #[inline]
    fn add(&mut self, point: (f64, f64)) {
        let entry = (self.count, point);
        self.count += 1;
        if point.1 < self.low.1.1 {
            self.low = entry;
        }
        if point.1 > self.high.1.1 {
            self.high = entry;
        }
        self.last = entry;
    }

    fn empty_into(self, stretches: &mut [Vec<(f64, f64)>]) {
        let mut kept = [self.first, self.low, self.high, self.last];
        kept.sort_by_key(|entry| entry.0);
        let Some(stretch) = stretches.last_mut() else {
            return;
        };
        let mut before = None;
        for (order, point) in kept {
            if before != Some(order) {
                stretch.push(point);
            }
            before = Some(order);
        }
    }
}

//! What comes before what.

/// An order in which everything comes after what it waits for, and what is left over.
pub(super) struct Order {
    /// Indexes in order, those given first first; without those in circles and what waits for them.
    pub order: Vec<usize>,
    /// Sets that wait for each other, each by index, the sets by their first.
    pub circles: Vec<Vec<usize>>,
}

/// Orders indexes by what each comes after. The order is that of the depth of waiting, then of the indexes.
pub(super) fn order(before: &[Vec<usize>]) -> Order {
    let after = turned(before);
    let mut waits: Vec<usize> = before.iter().map(Vec::len).collect();
    let mut order: Vec<usize> = (0..before.len()).filter(|&i| waits[i] == 0).collect();
    let mut next = 0;
    while next < order.len() {
        for &s in &after[order[next]] {
            waits[s] -= 1;
            if waits[s] == 0 {
                order.push(s);
            }
        }
        next += 1;
    }
    let left: Vec<usize> = (0..before.len()).filter(|&i| waits[i] > 0).collect();
    let mut circles: Vec<Vec<usize>> = Vec::new();
    for &i in &left {
        if circles.iter().any(|circle| circle.contains(&i)) {
            continue;
        }
        let (ahead, behind) = (reached(&after, i), reached(before, i));
        let circle: Vec<usize> = left.iter().copied().filter(|&k| ahead[k] && behind[k]).collect();
        if !circle.is_empty() {
            circles.push(circle);
        }
    }
    Order { order, circles }
}

/// What comes after each, from what comes before each.
pub(super) fn turned(before: &[Vec<usize>]) -> Vec<Vec<usize>> {
    let mut after = vec![Vec::new(); before.len()];
    for (i, befores) in before.iter().enumerate() {
        for &p in befores {
            after[p].push(i);
        }
    }
    after
}

/// What is reached from `from` in one step or more.
fn reached(next: &[Vec<usize>], from: usize) -> Vec<bool> {
    let mut seen = vec![false; next.len()];
    let mut open = vec![from];
    while let Some(i) = open.pop() {
        for &s in &next[i] {
            if !seen[s] {
                seen[s] = true;
                open.push(s);
            }
        }
    }
    seen
}

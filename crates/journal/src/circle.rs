//! Circles in a directed graph (Kosaraju's algorithm, without recursion).
//!
//! Only dishonest writes can see each other in a circle; [`crate::register`] must not be fooled by them.

/// Returns for every node the number of its circle: two nodes share one if each leads to the other.
///
/// `next[node]` are the nodes it leads to. Linear in nodes and edges.
pub(crate) fn circles(next: &[Vec<usize>]) -> Vec<usize> {
    let mut back = vec![Vec::new(); next.len()];
    for (node, targets) in next.iter().enumerate() {
        targets.iter().for_each(|target| back[*target].push(node));
    }
    let mut number = vec![usize::MAX; next.len()];
    for root in finishing_order(next).into_iter().rev() {
        let mut waiting = vec![root];
        while let Some(node) = waiting.pop() {
            if number[node] == usize::MAX {
                number[node] = root;
                waiting.extend(&back[node]);
            }
        }
    }
    number
}

/// Returns the nodes in the order in which a depth-first walk leaves them.
fn finishing_order(next: &[Vec<usize>]) -> Vec<usize> {
    let mut order = Vec::with_capacity(next.len());
    let mut met = vec![false; next.len()];
    for root in 0..next.len() {
        let mut path = vec![(root, 0)];
        while let Some((node, edge)) = path.pop() {
            if edge == 0 && std::mem::replace(&mut met[node], true) {
                continue;
            }
            match next[node].get(edge) {
                Some(target) => path.extend([(node, edge + 1), (*target, 0)]),
                None => order.push(node),
            }
        }
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Compared with the definition: nodes share a circle if each reaches the other.
    #[test]
    fn agrees_with_the_definition_on_all_graphs_of_four_nodes() {
        for edges in 0u32..1 << 12 {
            let next = graph(edges);
            let number = circles(&next);
            for a in 0..4 {
                for b in 0..4 {
                    let together = reaches(&next, a, b) && reaches(&next, b, a);
                    assert_eq!(number[a] == number[b], together, "{next:?} {a} {b}");
                }
            }
        }
    }

    /// One bit per ordered pair of distinct nodes.
    fn graph(edges: u32) -> Vec<Vec<usize>> {
        let pairs = (0..4).flat_map(|a| (0..4).map(move |b| (a, b))).filter(|(a, b)| a != b);
        let mut next = vec![Vec::new(); 4];
        for (bit, (a, b)) in pairs.enumerate() {
            if edges >> bit & 1 == 1 {
                next[a].push(b);
            }
        }
        next
    }

    fn reaches(next: &[Vec<usize>], from: usize, to: usize) -> bool {
        let mut reached = vec![false; next.len()];
        reached[from] = true;
        for _ in 0..next.len() {
            for node in 0..next.len() {
                if reached[node] {
                    next[node].iter().for_each(|target| reached[*target] = true);
                }
            }
        }
        reached[to]
    }
}

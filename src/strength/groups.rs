//! Things merged step by step into groups.

/// A partition of 0..n that only ever gets coarser.
#[derive(Debug, Clone)]
pub(super) struct Groups {
    parent: Vec<usize>,
}

impl Groups {
    /// `count` things, each on its own.
    pub(super) fn new(count: usize) -> Self {
        Self {
            parent: (0..count).collect(),
        }
    }

    /// The lowest member of the group of `i`.
    pub(super) fn of(&self, mut i: usize) -> usize {
        while self.parent[i] != i {
            i = self.parent[i];
        }
        i
    }

    /// Makes the groups of `a` and `b` one.
    pub(super) fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.of(a), self.of(b));
        self.parent[a.max(b)] = a.min(b);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn joined_things_share_their_lowest_member() {
        let mut g = Groups::new(5);
        g.join(4, 2);
        g.join(2, 1);
        assert_eq!([0, 1, 2, 3, 4].map(|i| g.of(i)), [0, 1, 1, 3, 1]);
    }
}

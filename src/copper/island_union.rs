//! Disjoint sets (union by size, path halving).

/// Sets over the numbers 0 to n.
#[derive(Debug, Clone)]
pub(super) struct Union {
    parent: Vec<u32>,
    size: Vec<u32>,
}

impl Union {
    pub(super) fn new(count: usize) -> Self {
        let count = u32::try_from(count).unwrap_or(u32::MAX);
        Self { parent: (0..count).collect(), size: vec![1; count as usize] }
    }

    /// One more set of one number, which is returned.
    pub(super) fn push(&mut self) -> u32 {
        let next = u32::try_from(self.parent.len()).unwrap_or(u32::MAX);
        self.parent.push(next);
        self.size.push(1);
        next
    }

    /// The number that stands for the set of `at`.
    pub(super) fn find(&mut self, mut at: u32) -> u32 {
        while let Some(&parent) = self.parent.get(at as usize)
            && parent != at
        {
            let above = self.parent.get(parent as usize).copied().unwrap_or(parent);
            if let Some(own) = self.parent.get_mut(at as usize) {
                *own = above;
            }
            at = above;
        }
        at
    }

    /// Makes one set of two; whether they were apart.
    pub(super) fn join(&mut self, one: u32, other: u32) -> bool {
        let (one, other) = (self.find(one), self.find(other));
        if one == other {
            return false;
        }
        let size_of = |size: &[u32], at: u32| size.get(at as usize).copied().unwrap_or(0);
        let (small, large) =
            if size_of(&self.size, one) < size_of(&self.size, other) { (one, other) } else { (other, one) };
        let sum = size_of(&self.size, small).saturating_add(size_of(&self.size, large));
        if let (Some(parent), Some(size)) = (self.parent.get_mut(small as usize), self.size.get_mut(large as usize)) {
            *parent = large;
            *size = sum;
        }
        true
    }
}

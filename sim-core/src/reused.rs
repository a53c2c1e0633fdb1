//! Lists that keep what their entries have allocated, for work that is done over and over.

use std::ops::{Deref, DerefMut};

/// A list whose entries stay behind, to be filled again, when it is emptied.
#[derive(Clone, Debug)]
pub struct Reused<T> {
    entries: Vec<T>,
    used: usize,
}

impl<T> Default for Reused<T> {
    fn default() -> Self {
        Reused {
            entries: Vec::new(),
            used: 0,
        }
    }
}

impl<T: Default> Reused<T> {
    /// Empties it.
    pub fn clear(&mut self) {
        self.used = 0;
    }

    /// Makes it one longer: by an entry that was there before, as it was left, or by a new one.
    pub fn add(&mut self) -> &mut T {
        if self.used == self.entries.len() {
            self.entries.push(T::default());
        }
        self.used += 1;
        &mut self.entries[self.used - 1]
    }
}

impl<T> Deref for Reused<T> {
    type Target = [T];
    fn deref(&self) -> &[T] {
        &self.entries[..self.used]
    }
}

impl<T> DerefMut for Reused<T> {
    fn deref_mut(&mut self) -> &mut [T] {
        &mut self.entries[..self.used]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn entries_come_back_as_they_were_left() {
        let mut list: Reused<Vec<u8>> = Reused::default();
        list.add().push(7);
        list.add().push(8);
        assert_eq!(list.len(), 2);
        list.clear();
        assert!(list.is_empty());
        assert_eq!(*list.add(), [7]);
        assert_eq!(list.len(), 1);
    }
}

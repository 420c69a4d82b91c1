//! Sorting, joining and splitting in little code.
//!
//! The student's page carries every instance of the library's sort, each as
//! large as all of the code that asks for it. Here everything but the keys is
//! shared. The library's search for a text in a text is larger still.

/// The texts in a row, with another between each two.
pub fn joined(texts: &[String], between: &str) -> String {
    let mut all = String::new();
    for (i, text) in texts.iter().enumerate() {
        if i > 0 {
            all.push_str(between);
        }
        all.push_str(text);
    }
    all
}

/// Whether a letter stands in a text.
pub fn has(text: &str, letter: char) -> bool {
    text.chars().any(|c| c == letter)
}

/// What stands before and after the first such mark that a space follows.
pub fn split_at_mark(text: &str, mark: char) -> Option<(&str, &str)> {
    let (before, after) = text.split_once(mark)?;
    Some((before, after.strip_prefix(' ')?))
}

/// Sorts by a key, which is made once for each element; equals keep their
/// order.
pub fn sort_by_key<T, K: Ord>(row: &mut [T], key: impl Fn(&T) -> K) {
    let keys: Vec<K> = row.iter().map(key).collect();
    let mut from = order(keys.len(), &|a, b| keys[a] > keys[b]);
    for place in 0..row.len() {
        let mut at = from[place];
        while at < place {
            at = from[at];
        }
        from[place] = at;
        row.swap(place, at);
    }
}

/// The indices below `length`, sorted by merging longer and longer runs.
fn order(length: usize, after: &dyn Fn(usize, usize) -> bool) -> Vec<usize> {
    let mut sorted: Vec<usize> = (0..length).collect();
    let mut run = 1;
    while run < length {
        let mut merged = Vec::with_capacity(length);
        for start in (0..length).step_by(2 * run) {
            let middle = (start + run).min(length);
            let end = (start + 2 * run).min(length);
            let (mut left, mut right) = (start, middle);
            while left < middle || right < end {
                let takes_right =
                    left == middle || right < end && after(sorted[left], sorted[right]);
                let next = if takes_right { &mut right } else { &mut left };
                merged.push(sorted[*next]);
                *next += 1;
            }
        }
        sorted = merged;
        run *= 2;
    }
    sorted
}

#[cfg(test)]
mod tests {
    use super::sort_by_key;

    #[test]
    fn sorts_as_the_library_does() {
        let mut seed = 3u32;
        for length in 0..200 {
            let mut row: Vec<(u32, usize)> = (0..length)
                .map(|i| {
                    seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    (seed >> 27, i)
                })
                .collect();
            let mut sorted = row.clone();
            sorted.sort_by_key(|&(key, _)| key);
            sort_by_key(&mut row, |&(key, _)| key);
            assert_eq!(row, sorted);
        }
    }
}

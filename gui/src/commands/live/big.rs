//! Numbers that can be read from some metres away in a terminal.

/// Rows of a figure.
pub(super) const ROWS: usize = 5;

/// A figure, row by row; `#` is ink.
const fn figure(c: char) -> [&'static str; ROWS] {
    match c {
        '0' => [" #### ", "##  ##", "##  ##", "##  ##", " #### "],
        '1' => ["  ##  ", "####  ", "  ##  ", "  ##  ", "######"],
        '2' => [" #### ", "##  ##", "   ## ", " ##   ", "######"],
        '3' => ["##### ", "    ##", "  ### ", "    ##", "##### "],
        '4' => ["##  ##", "##  ##", "######", "    ##", "    ##"],
        '5' => ["######", "##    ", "##### ", "    ##", "##### "],
        '6' => [" #### ", "##    ", "##### ", "##  ##", " #### "],
        '7' => ["######", "   ## ", "  ##  ", " ##   ", " ##   "],
        '8' => [" #### ", "##  ##", " #### ", "##  ##", " #### "],
        '9' => [" #### ", "##  ##", " #####", "    ##", " #### "],
        '-' => ["      ", "      ", " #### ", "      ", "      "],
        '.' => ["  ", "  ", "  ", "  ", "##"],
        '°' => ["####", "#  #", "####", "    ", "    "],
        _ => ["      ", "      ", "      ", "      ", "      "],
    }
}

/// The rows of a text of figures.
pub(super) fn rows(text: &str) -> [String; ROWS] {
    std::array::from_fn(|row| {
        let figures: Vec<String> = text
            .chars()
            .map(|c| figure(c)[row].replace('#', "█"))
            .collect();
        figures.join("  ")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_even_and_tell_each_other_apart() {
        let all = "0123456789- ";
        for a in all.chars() {
            assert!(figure(a).iter().all(|row| row.len() == 6), "{a}");
            let same = all.chars().filter(|b| figure(a) == figure(*b)).count();
            assert_eq!(same, 1, "{a}");
        }
        let width = |row: &String| row.chars().count();
        let rows = rows("62.4°");
        assert!(rows.iter().all(|row| width(row) == width(&rows[0])));
    }
}

//! The cases that the crate carries, so that they can be run where there is no checkout.

/// The exported chapters: the name of the file and its text. Copies of the files under spec/conformance.
pub(crate) const CHAPTERS: [(&str, &str); 11] = [
    ("1-terms.json", include_str!("../cases/1-terms.json")),
    ("2-sections.json", include_str!("../cases/2-sections.json")),
    (
        "3-leaving-a-measure.json",
        include_str!("../cases/3-leaving-a-measure.json"),
    ),
    ("4-jumps.json", include_str!("../cases/4-jumps.json")),
    (
        "5-passes-on-a-return.json",
        include_str!("../cases/5-passes-on-a-return.json"),
    ),
    (
        "6-the-reading.json",
        include_str!("../cases/6-the-reading.json"),
    ),
    (
        "7-what-a-step-carries.json",
        include_str!("../cases/7-what-a-step-carries.json"),
    ),
    (
        "8-inside-a-measure.json",
        include_str!("../cases/8-inside-a-measure.json"),
    ),
    (
        "9-always-true.json",
        include_str!("../cases/9-always-true.json"),
    ),
    ("10-errors.json", include_str!("../cases/10-errors.json")),
    (
        "11-published-orders.json",
        include_str!("../cases/11-published-orders.json"),
    ),
];

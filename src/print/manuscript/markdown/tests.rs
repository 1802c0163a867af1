use std::collections::BTreeMap;

use super::read;
use crate::maths::handles::Handles;
use crate::print::manuscript::plot::{Axis, Plot, Vertical};

fn plots() -> BTreeMap<String, Plot> {
    let axis = |symbol: &str| Axis::new(symbol, "Axis", "1");
    let plot = Plot {
        x: axis("w"),
        y: Vertical::Scale {
            axis: axis("ρ"),
            aspect: 0.6,
        },
        series: Vec::new(),
        below: None,
        alternative: "A plot".to_owned(),
    };
    BTreeMap::from([("line".to_owned(), plot)])
}

fn codes(text: &str) -> Vec<String> {
    match read(text, "t.md", &plots(), &[], &Handles::default()) {
        Ok(_) => Vec::new(),
        Err(problems) => problems
            .iter()
            .map(|p| format!("{} {}", p.code, p.span.as_ref().map_or(0, |span| span.line)))
            .collect(),
    }
}

#[test]
fn every_convention_is_read() {
    let text = r"# Aim {#aim}

See [](#t), [](#f) and *this* with $x^2$,
~~left out~~ and `code`.

## Part

Table #t: Readings of **A**.

| Name | Note | g |
|:--|:-:|--:|
| A | ~~x~~ | [1.20](share:120) |

Figure #f: The line.

![](plot:line)

> 1. one
> 2. two

$$\rho &= \frac{m}{V} \\ &= 1.2$$ { #rho }

By [](#rho), or [()](#rho):

$$ x $$

![](contents)

```yaml
a: 1
```

---

# Sums {.appendix #sums}

# Last {.unnumbered}
";
    let blocks = read(text, "t.md", &plots(), &[], &Handles::default()).expect("well formed");
    let lines: Vec<String> = blocks.iter().map(|block| format!("{block:?}")).collect();
    insta::assert_snapshot!(lines.join(
        "
"
    ));
}

#[test]
fn mistakes_are_told_with_their_line() {
    assert_eq!(codes("x\n\n[](#nowhere)\n"), ["unknown-label 3"]);
    assert_eq!(codes("Table #t: alone\n\ntext\n"), ["caption-misplaced 1"]);
    assert_eq!(codes("Table #t: alone\n"), ["caption-misplaced 1"]);
    assert_eq!(codes("\n![](plot:none)\n"), ["unknown-plot 2"]);
    assert_eq!(codes("a\n\n# A {#a}\n\n# B {#a}\n"), ["label-twice 5"]);
    assert_eq!(codes("text $\\nosuch$ text\n"), ["malformed-formula 1"]);
    assert_eq!(codes("text\n\n$$\\nosuch$$\n"), ["malformed-formula 3"]);
    assert_eq!(codes("a $$x$$ b\n"), ["formula-in-line 1"]);
    assert_eq!(codes("$$x$$ { #a b }\n"), ["text-after-formula 1"]);
    assert_eq!(codes("$$x$$ { #a }\n\n$$x$$ { #a }\n"), ["label-twice 3"]);
    assert_eq!(codes("[()](#nowhere)\n"), ["unknown-label 1"]);
    assert_eq!(
        codes("Table #t: alone\n\n![](contents)\n"),
        ["caption-misplaced 1"]
    );
    assert_eq!(codes("1. {#a} x\n2. {#a} y\n"), ["label-twice 2"]);
    assert_eq!(codes("\n[here](#nowhere)\n"), ["unknown-label 2"]);
    assert_eq!(
        codes(&format!("{}x\n", "> ".repeat(200))),
        ["nested-too-deep 1"]
    );
}

#[test]
fn rows_have_the_cells_of_their_head() {
    let table = |row: &str| codes(&format!("| a | b |\n|:--|--:|\n| 1 | 2 |\n{row}\n\nend\n"));
    for row in [
        "| 1 | 2 |",
        "1 | 2",
        "| | |",
        "| 1 ||",
        "| 1 \\| 1 | `2` |  ",
        "| $x$ | |",
    ] {
        assert!(table(row).is_empty(), "{row}");
    }
    for row in ["| 1 |", "| 1 | 2 | 3 |", "1", "| 1 | 2 | | 3"] {
        assert_eq!(table(row), ["cells-differ 4"], "{row}");
    }
    assert_eq!(
        codes("> | a | b |\n> |:--|--:|\n> | 1 |"),
        ["cells-differ 3"]
    );
}

#[test]
fn items_bear_labels_and_text_leads_to_them() {
    let blocks = read(
        "1. {#a} **x** y\n2. { #b }\n\n[²](#b)\n",
        "t.md",
        &plots(),
        &[],
        &Handles::default(),
    );
    assert_eq!(
        format!("{:?}", blocks.expect("well formed")),
        r#"[List { marks: Letters, items: [[Label("a"), Paragraph([Strong([Text("x")]), Text(" y")])], "#
            .to_owned()
            + r#"[Label("b"), Paragraph([])]] }, "#
            + r#"Paragraph([Linked { label: "b", text: [Text("²")] }])]"#
    );
}

#[test]
fn html_is_set_as_text() {
    let blocks = read(
        "a <b>c</b>\n\n<div>\nx\n</div>\n",
        "t.md",
        &plots(),
        &[],
        &Handles::default(),
    )
    .expect("well formed");
    assert_eq!(
        format!("{blocks:?}"),
        r#"[Paragraph([Text("a <b>c</b>")]), Paragraph([Text("<div>\nx\n</div>")])]"#
    );
}

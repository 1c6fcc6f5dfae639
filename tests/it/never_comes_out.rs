//! Repeats that no count makes come out, and whether what is offered in their place does.
//!
//! The counts and the widths are worked by hand beside each.

use crate::patterns::{rewritten, targets};
use walewright::source::Source;

/// A piece 60 cm around; a stitch is half a centimeter.
fn piece(setting: &str, steps: &str) -> String {
    format!(
        "---\ntitle: Quay Cowl\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n\
         measure:\n  around: 60 cm\n---\n\n## Cowl, {setting}\n\n- cast on ? in body [around]\n\
         {steps}- bind off all\n"
    )
}

fn told(pattern: &str) -> String {
    let source = Source::new("cowl.wale", pattern);
    rewritten(&source, &targets("title: Cowl\n")).expect_err("it never comes out")
}

/// The stitches cast on once a pattern is as it was offered.
fn cast_on(pattern: &str) -> String {
    let source = Source::new("cowl.wale", pattern);
    let targets = targets("title: Cowl\n");
    let revised = rewritten(&source, &targets).unwrap_or_else(|e| panic!("{e}"));
    let line = revised.source.text.lines().find(|line| line.contains("cast on"));
    line.expect("a cast-on").to_owned()
}

#[test]
fn a_repeat_after_an_increase_in_every_stitch() {
    // Twice any count is even, and a purl stitch with a multiple of 4 is odd.
    let eyelets = piece("flat", "- row 1: *k1, yo; rep from *\n- row 2: p1, *k2, p2; rep from *\n");
    insta::assert_snapshot!(told(&eyelets), @r#"
    error[clash]: no counts meet this: a repeat of 4 stitches fills its part of the row, and here it always has 1 stitch over
      --> cowl.wale:13:14
       |
    13 | - row 2: p1, *k2, p2; rep from *
       |              ^^^^^^^^^^^^^^^^^^^ asked here
       |
       = help: it comes out with 1 stitch more beside the repeat (0.5 cm)
       = help: it comes out with a repeat of 5 stitches, each wider (0.5 cm)
    "#);
    // 2 + 4 x n is twice an odd number, 121; 1 + 5 x n is twice 118 or 123, and 118 is nearer.
    let offered = eyelets.replace("p1, *k2", "p2, *k2");
    assert_eq!(cast_on(&offered), "- cast on 121 in body [around]");
    let offered = eyelets.replace("*k2, p2;", "*k2, p3;");
    assert_eq!(cast_on(&offered), "- cast on 118 in body [around]");
}

#[test]
fn a_repeat_beside_which_another_row_stands() {
    // The rows before leave 6 x n + 2; a stitch more or fewer beside the second repeat of 6
    // would do for twice a count, but only 3 more for the row before it.
    let welts = piece(
        "flat",
        "- row 1: *k1, yo; rep from *\n- row 2: *p3, k3; rep from * to last 2 sts, p2\n\
         - row 3: *k3, p3; rep from * to last 5 sts, k5\n",
    );
    insta::assert_snapshot!(told(&welts), @r#"
    error[clash]: no counts meet this: a repeat of 6 stitches fills its part of the row, and here it always has 1 stitch over
      --> cowl.wale:14:10
       |
    14 | - row 3: *k3, p3; rep from * to last 5 sts, k5
       |          ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ asked here
       |
       = help: it comes out with 3 stitches more beside the repeat (1.5 cm)
       = help: it comes out with a repeat of 7 stitches, each wider (0.5 cm)
    "#);
    // 6 x n + 8 is twice 121 (6 x 39 + 8 = 242), or twice 118; 120 was aimed at.
    let offered = welts.replace("last 5 sts, k5", "last 8 sts, k8");
    assert_eq!(cast_on(&offered), "- cast on 121 in body [around]");
}

#[test]
fn a_row_that_takes_a_stitch_after_its_repeat_has_taken_all() {
    let gathered = piece(
        "in the round",
        "- join in the round\n- round 1: *k2, k2tog; rep from *, k1\n- stockinette for 5 cm\n",
    )
    .replace("title: Quay Cowl\n", "title: Quay Cowl\nunits: in\n");
    insta::assert_snapshot!(told(&gathered), @r#"
    error[clash]: no counts meet this: a row works every stitch, and here it always has 1 stitch too few
      --> cowl.wale:14:12
       |
    14 | - round 1: *k2, k2tog; rep from *, k1
       |            ^^^^^^^^^^^^^^^^^^^^^^^^^^ asked here
       |
       = help: it comes out with 1 stitch fewer in this row (0.5 cm, 0.2 in)
       = help: it comes out with 1 stitch more from the rows above (0.5 cm, 0.2 in)
    "#);
    let offered = gathered.replace("rep from *, k1", "rep from *");
    assert_eq!(cast_on(&offered), "- cast on 120 in body [around]");
}

#[test]
fn a_rib_over_a_count_that_is_always_odd() {
    // k1 and two of every other stitch: odd, and the rib wants 4 x n + 2.
    let rib = piece("flat", "- row 1: k1, *k1, yo; rep from *\n- k2 p2 rib for 5 cm\n");
    insta::assert_snapshot!(told(&rib), @r#"
    error[clash]: no counts meet this: k2 p2 rib wants a multiple of 4 plus 2, and here it always has 1 stitch over
      --> cowl.wale:13:3
       |
    13 | - k2 p2 rib for 5 cm
       |   ^^^^^^^^^ asked here
       |
       = help: it comes out with 1 stitch fewer from the rows above (0.5 cm)
       = help: a multiple of 4 plus 3 comes out: 1 stitch more beside the repeats (0.5 cm)
    "#);
    // A stitch fewer from the row above: twice 121 is 4 x 60 + 2.
    let offered = rib.replace("k1, *k1, yo", "*k1, yo");
    assert_eq!(cast_on(&offered), "- cast on 121 in body [around]");
    // 4 x n + 3 is 243 = 1 + 2 x 121, of 122 cast on, or 239, of 120.
    let asked = "- row 2: *k2, p2; rep from * to last 3 sts, k2, p1\n";
    let offered = rib.replace("- k2 p2 rib for 5 cm\n", asked);
    assert_eq!(cast_on(&offered), "- cast on 120 in body [around]");
}

#[test]
fn decreases_at_both_ends_of_a_fixed_count() {
    // 101 less two at a time is odd. 60 are 30 cm: 62 for the rib, 61 for the decreases.
    let flap = piece(
        "flat",
        "- stockinette for 5 cm, ending with a WS row\n\
         - decrease 1 each end every RS row until ? sts remain [around / 2]\n- k2 p2 rib for 5 cm\n",
    )
    .replace("cast on ? in body [around]", "cast on 101 in body [fixed]");
    insta::assert_snapshot!(told(&flap), @r#"
    error[clash]: no counts meet all of this: each shaping row changes 2 stitches and k2 p2 rib wants a multiple of 4 plus 2
      --> cowl.wale:13:42
       |
    13 | - decrease 1 each end every RS row until ? sts remain [around / 2]
       |                                          ^ asked here
    14 | - k2 p2 rib for 5 cm
       |   --------- and here
       |
       = help: without "each shaping row changes 2 stitches" there are counts, the farthest 2 stitches too many from its target (1 cm)
       = help: without "k2 p2 rib wants a multiple of 4 plus 2" there are counts, the farthest 1 stitch too many from its target (0.5 cm)
    "#);
}

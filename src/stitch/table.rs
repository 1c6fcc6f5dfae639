//! The stitches, as data.
//!
//! Meanings follow the published lists of the trade (dummies.com "Terms and
//! Abbreviations"; sweaterbabe.com; nevernotknitting.com; knittingmagic.biz;
//! spotlightstores.com); the old words are those of the *Handbook of Wool
//! Knitting and Crochet* (1918). From memory: sssk, cdd, kfbf, lifted
//! increases, the mirrors and the wrong-side names. What each takes and makes
//! is worked out from the meanings; the descriptions are our own.
//!
//! To add a stitch, add a row. Cables, and decreases of more than three
//! stitches, are worked out from their names in [`super`].

/// One stitch of the table.
#[derive(Debug)]
pub(super) struct Row {
    /// How it is written by us.
    pub(super) name: &'static str,
    /// Stitches taken from the left needle.
    pub(super) takes: u32,
    /// Stitches more (or, for `psso`, fewer) on the right needle.
    pub(super) makes: i32,
    /// Whether a number after it says how many: `k4`. Otherwise `ssk 4 times`.
    pub(super) counted: bool,
    /// The same leaning the other way; empty where it is its own mirror.
    pub(super) mirror: &'static str,
    /// What is worked on the wrong side so that it looks the same from the right side.
    pub(super) wrong_side: &'static str,
    /// The chart symbol.
    pub(super) symbol: &'static str,
    /// Other names: old, British, in full; separated by `|`.
    pub(super) also: &'static str,
    /// What to do.
    pub(super) means: &'static str,
}

macro_rules! table {
    ($($name:literal, $takes:literal, $makes:literal, $counted:literal, $mirror:literal, $wrong:literal, $symbol:literal,
       $also:literal, $means:literal;)*) => {
        &[$(Row {
            name: $name,
            takes: $takes,
            makes: $makes,
            counted: $counted,
            mirror: $mirror,
            wrong_side: $wrong,
            symbol: $symbol,
            also: $also,
            means: $means,
        },)*]
    };
}

/// All of them; the plain ones first.
#[rustfmt::skip]
pub(super) const ROWS: &[Row] = table! {
    // name, takes, makes, counted, mirror, from the wrong side, symbol, also, means
    "k", 1, 1, true, "", "p", "knit", "knit|plain", "knit";
    "p", 1, 1, true, "", "k", "purl", "purl", "purl";
    "k tbl", 1, 1, true, "", "p tbl", "knit-twisted", "ktbl|knit tbl|k1b|kb1|k1-b|k in back|knit in back|k into back|knit into back", "knit through the back loop";
    "p tbl", 1, 1, true, "", "k tbl", "purl-twisted", "ptbl|purl tbl|p1b|pb1|p1-b|p in back|purl in back", "purl through the back loop";
    "sl", 1, 1, true, "", "sl", "slip", "slip|s", "slip from the left needle to the right without working";
    "sl kwise", 1, 1, true, "", "sl pwise", "slip", "sl1k|sl1-k|slip kwise|slip knitwise|sl knitwise", "slip as if to knit";
    "sl pwise", 1, 1, true, "", "sl pwise", "slip", "sl1p|sl1-p|slip pwise|slip purlwise|sl purlwise", "slip as if to purl";
    "sl wyif", 1, 1, true, "", "sl wyib", "slip-float", "slip wyif", "slip with the yarn held in front";
    "sl wyib", 1, 1, true, "", "sl wyif", "slip", "slip wyib", "slip with the yarn held in back";
    // Decreases by one.
    "k2tog", 2, 1, false, "ssk", "p2tog", "decrease-right", "narrow|n", "knit two together";
    "p2tog", 2, 1, false, "ssp", "k2tog", "decrease-right-purl", "", "purl two together";
    "ssk", 2, 1, false, "k2tog", "ssp", "decrease-left", "", "slip two one by one as if to knit, then knit them together through the back loops";
    "ssp", 2, 1, false, "p2tog", "ssk", "decrease-left-purl", "", "slip two one by one as if to knit, put them back, then purl them together through the back loops";
    "skp", 2, 1, false, "k2tog", "ssp", "decrease-left", "skpo|sl1-k1-psso|slip and bind|sl and b", "slip one, knit one, pass the slipped stitch over";
    "k2tog tbl", 2, 1, false, "k2tog", "p2tog tbl", "decrease-left", "k2togtbl|k2tog-tbl|k2togb|k2tog-b", "knit two together through the back loops";
    "p2tog tbl", 2, 1, false, "p2tog", "k2tog tbl", "decrease-left-purl", "p2togtbl|p2tog-tbl|p2togb|p2tog-b", "purl two together through the back loops";
    // Decreases by two.
    "k3tog", 3, 1, false, "sssk", "p3tog", "double-decrease-right", "", "knit three together";
    "p3tog", 3, 1, false, "p3tog tbl", "k3tog", "double-decrease-right-purl", "", "purl three together";
    "sssk", 3, 1, false, "k3tog", "p3tog tbl", "double-decrease-left", "", "slip three one by one as if to knit, then knit them together through the back loops";
    "k3tog tbl", 3, 1, false, "k3tog", "p3tog tbl", "double-decrease-left", "k3togtbl", "knit three together through the back loops";
    "p3tog tbl", 3, 1, false, "p3tog", "k3tog tbl", "double-decrease-left-purl", "p3togtbl", "purl three together through the back loops";
    "sk2p", 3, 1, false, "k3tog", "p3tog tbl", "double-decrease-left", "sk2po|sl1-k2tog-psso", "slip one, knit two together, pass the slipped stitch over";
    "s2kp", 3, 1, false, "", "s2pp", "double-decrease-center", "s2kp2|cdd|sl2-k1-p2sso|sl2-k1-psso", "slip two together as if to knit, knit one, pass the two slipped stitches over";
    "s2pp", 3, 1, false, "", "s2kp", "double-decrease-center-purl", "s2pp2|cddp", "slip two together through the back loops, purl one, pass the two slipped stitches over";
    // The halves of decreases written out.
    "psso", 0, -1, false, "", "psso", "pass-over", "pass slipped stitch over|pass slip stitch over|pass sl st over", "pass the slipped stitch over";
    "p2sso", 0, -2, false, "", "p2sso", "pass-over", "p2sso2|pass 2 slipped stitches over|pass 2 slipped sts over", "pass the two slipped stitches over";
    // Increases in a stitch.
    "kfb", 1, 2, true, "", "pfb", "increase-bar", "inc|inc1|inc 1|k1f&b|k1fb|kf&b|k in front and back|k into front and back|knit in front and back|knit into front and back|knit into the front and back", "knit into the front and the back of one stitch";
    "pfb", 1, 2, true, "", "kfb", "increase-bar-purl", "p1f&b|p1fb|pf&b|incp|p into front and back|purl into front and back|purl into the front and back", "purl into the front and the back of one stitch";
    "kfbf", 1, 3, false, "", "pfbf", "double-increase", "k1fbf|kf&b&f", "knit into the front, the back and again the front of one stitch";
    "pfbf", 1, 3, false, "", "kfbf", "double-increase-purl", "p1fbf", "purl into the front, the back and again the front of one stitch";
    // Increases between stitches.
    "m1", 0, 1, false, "", "m1p", "increase", "m1k|make 1|make one", "lift the strand between the needles and knit it twisted";
    "m1l", 0, 1, false, "m1r", "m1lp", "increase-left", "m1 left|make 1 left|make one left", "lift the strand between the needles from the front and knit it through the back loop";
    "m1r", 0, 1, false, "m1l", "m1rp", "increase-right", "m1 right|make 1 right|make one right", "lift the strand between the needles from the back and knit it through the front loop";
    "m1p", 0, 1, false, "", "m1", "increase-purl", "m1 purl|make 1 purl|m1 purlwise|m1 pwise|make 1 purlwise|make 1 pwise", "lift the strand between the needles and purl it twisted";
    "m1lp", 0, 1, false, "m1rp", "m1l", "increase-left-purl", "m1pl|m1l purl", "lift the strand between the needles from the front and purl it through the back loop";
    "m1rp", 0, 1, false, "m1lp", "m1r", "increase-right-purl", "m1pr|m1r purl", "lift the strand between the needles from the back and purl it through the front loop";
    "lli", 0, 1, false, "rli", "lli", "lifted-increase-left", "left lifted increase", "knit into the left side of the stitch two rows below the last stitch worked";
    "rli", 0, 1, false, "lli", "rli", "lifted-increase-right", "right lifted increase", "knit into the right side of the stitch below the next stitch";
    "loop", 0, 1, false, "", "loop", "loop-increase", "backward loop|backwards loop|bli|e-loop", "put a loop of the yarn on the right needle";
    "yo", 0, 1, true, "", "yo", "yarn-over", "over|o|yarn over|yarn-over|yfwd|yf|yfon|yon|yrn|wrn|wool round needle|wool fwd|th o|thread over|wool forward|w fwd|yarn forward|yarn round needle|yarn over needle", "take the yarn over the right needle";
    "double yo", 0, 2, false, "", "double yo", "double-yarn-over", "dyo|2yo|double yarn over", "take the yarn twice round the right needle";
    // Two-stitch twists.
    "rt", 2, 2, false, "lt", "rtp", "twist-right", "right twist|tw2r|t2r", "knit the second stitch, then the first, and drop both together: leans to the right";
    "lt", 2, 2, false, "rt", "ltp", "twist-left", "left twist|tw2l|t2l", "knit the second stitch from behind, then the first, and drop both together: leans to the left";
    "rtp", 2, 2, false, "ltp", "rt", "twist-right-purl", "t2b", "twist to the right over a purl stitch";
    "ltp", 2, 2, false, "rtp", "lt", "twist-left-purl", "t2f", "twist to the left over a purl stitch";
};

//! What is printed reads back as the same tree, places aside.

use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;
use proptest::sample::select;

use super::*;
use crate::measure::exact as ratio;
use crate::syntax::terminals::unwritten;
use crate::syntax::tree::{FabricName, StarEnd, Stripe};
use crate::syntax::{Vocabulary, row, step, visit};

const NOWHERE: Span = Span::at(0);

fn own() -> Vocabulary {
    Vocabulary { own: vec!["bob".to_owned()], colors: vec!["CC".to_owned(), "oat".to_owned()] }
}

/// The tree as text, with every place taken out.
fn without_places(tree: &impl std::fmt::Debug) -> String {
    let text = format!("{tree:?}");
    let mut out = String::new();
    let mut rest = text.as_str();
    while let Some(at) = rest.find("..") {
        let before = rest.get(..at).unwrap_or("").trim_end_matches(|c: char| c.is_ascii_digit());
        out.push_str(before);
        rest = rest.get(at + 2..).unwrap_or("").trim_start_matches(|c: char| c.is_ascii_digit());
    }
    out.push_str(rest);
    // The word, and with it the side of `even rounds`, is the setting's.
    out.replace("rounds: true", "rounds: false")
}

// ---- Random trees ----------------------------------------------------------

fn at<T>(value: T) -> Spanned<T> {
    Spanned::new(value, NOWHERE)
}

fn given<T: Clone + std::fmt::Debug>(
    one: impl Strategy<Value = T> + Clone,
) -> impl Strategy<Value = Given<T>> + Clone {
    prop_oneof![
        1 => Just(Given::Unknown),
        4 => one.clone().prop_map(Given::Same),
        2 => vec(option::weighted(0.8, one), 2..=4).prop_map(Given::Each),
    ]
}

fn counts() -> BoxedStrategy<Counts> {
    (given(0_u32..=200), any::<bool>())
        .prop_map(|(given, live)| Counts { span: NOWHERE, given, live })
        .boxed()
}

fn name() -> impl Strategy<Value = Spanned<String>> + Clone {
    select(vec!["body", "left shoulder", "brim-2", "front edge"]).prop_map(|n| at(n.to_owned()))
}

fn some_color() -> impl Strategy<Value = Spanned<String>> + Clone {
    select(vec!["CC", "oat"]).prop_map(|n| at(n.to_owned()))
}

fn length_list(unit: Unit) -> impl Strategy<Value = Lengths> {
    given((0_i64..=400, select(vec![1_i64, 2, 3, 4, 8, 10]))).prop_map(move |given| Lengths {
        span: NOWHERE,
        numbers: NOWHERE,
        given: given.map(|(n, d)| Length::new(ratio(*n, *d), unit)),
        unit,
        also: None,
    })
}

fn some_lengths() -> BoxedStrategy<Lengths> {
    (length_list(Unit::Cm), option::of(length_list(Unit::In)))
        .prop_map(|(first, also)| Lengths { also: also.map(Box::new), ..first })
        .boxed()
}

fn some_expr() -> BoxedStrategy<Expr> {
    let leaf = prop_oneof![
        select(vec!["chest", "ease", "upper arm"]).prop_map(|n| ExprKind::Name(n.to_owned())),
        (0_i64..=999).prop_map(|n| ExprKind::Number(ratio(n, 10))),
        (0_i64..=999).prop_map(|n| ExprKind::Length(Length::new(ratio(n, 4), Unit::Cm))),
    ]
    .prop_map(|kind| Expr { span: NOWHERE, kind });
    leaf.prop_recursive(4, 16, 2, |inner| {
        (0..4, inner.clone(), inner).prop_map(|(which, a, b)| {
            let (a, b) = (Box::new(a), Box::new(b));
            let kind = match which {
                0 => ExprKind::Add(a, b),
                1 => ExprKind::Sub(a, b),
                2 => ExprKind::Mul(a, b),
                _ => ExprKind::Div(a, b),
            };
            Expr { span: NOWHERE, kind }
        })
    })
    .boxed()
}

fn some_lies() -> BoxedStrategy<Lies> {
    prop_oneof![
        Just(Lies::Level),
        (1_i64..=500).prop_map(|n| Lies::Snug(ratio(n, 1000))),
        Just(Lies::AsWritten),
        Just(Lies::SameCount),
        some_expr().prop_map(Lies::Fitted),
    ]
    .boxed()
}

fn some_mark() -> BoxedStrategy<Spanned<Mark>> {
    prop_oneof![
        Just(Mark::Fixed),
        Just(Mark::FollowsWidth),
        Just(Mark::FollowsLength),
        (1_u32..=40, 0_u32..=9).prop_map(|(of, plus)| Mark::Multiple { of, plus }),
        some_lies().prop_map(Mark::Lies),
        name().prop_map(|n| Mark::As(n.value)),
        name().prop_map(|n| Mark::Starts(n.value)),
        Just(Mark::Allow {
            code: at("loose-number".to_owned()),
            reason: "a hymn number".to_owned()
        }),
        some_expr().prop_map(Mark::Measure),
    ]
    .prop_map(at)
    .boxed()
}

fn stitch_kind() -> BoxedStrategy<ItemKind> {
    let plain = select(vec![
        "k2tog",
        "ssk",
        "p2tog tbl",
        "2/2 RC",
        "C4F",
        "m1l",
        "psso",
        "double yo",
        "sk2p",
    ])
    .prop_map(|n| ItemKind::Stitch { name: at(n.to_owned()), count: None });
    let counted = select(vec!["k", "p", "sl", "yo", "k tbl", "sl wyif", "kfb", "bob"]);
    let counted = (counted, option::of(counts()))
        .prop_map(|(n, count)| ItemKind::Stitch { name: at(n.to_owned()), count });
    prop_oneof![2 => counted, 1 => plain].boxed()
}

fn row_end() -> BoxedStrategy<RowEnd> {
    let marker = option::of(select(vec!["A", "B"]).prop_map(|n| at(n.to_owned())));
    prop_oneof![
        Just(RowEnd::End),
        counts().prop_map(RowEnd::Last),
        (0_u32..=3, marker).prop_map(|(before, name)| RowEnd::Marker { before, name }),
        (0_u32..=3).prop_map(|before| RowEnd::Gap { before }),
    ]
    .boxed()
}

fn star_end() -> BoxedStrategy<StarEnd> {
    prop_oneof![
        Just(StarEnd::End),
        counts().prop_map(StarEnd::Last),
        (counts(), any::<bool>()).prop_map(|(count, more)| StarEnd::Times { count, more }),
        (0_u32..=3).prop_map(|before| StarEnd::Marker { before }),
    ]
    .boxed()
}

fn item_of(kind: impl Strategy<Value = ItemKind>) -> impl Strategy<Value = Item> {
    let color = option::weighted(0.2, some_color());
    (kind, color, vec(some_mark(), 0..=1)).prop_map(|(kind, color, marks)| {
        let marks = if row::is_live(&kind) { marks } else { Vec::new() };
        let color = color.filter(|_| kind.works_stitches());
        Item { span: NOWHERE, kind, color, marks }
    })
}

fn simple_kind() -> BoxedStrategy<ItemKind> {
    let marker = option::of(select(vec!["A", "B"]).prop_map(|n| at(n.to_owned())));
    let acts = select(vec![MarkerAct::Place, MarkerAct::Slip, MarkerAct::Remove]);
    let run = select(vec!["k", "p", "k2tog", "work", "bob"]);
    prop_oneof![
        6 => stitch_kind(),
        2 => (run, row_end())
            .prop_map(|(n, until)| ItemKind::Run { name: at(n.to_owned()), until }),
        1 => counts().prop_map(ItemKind::Pattern),
        1 => option::of(counts()).prop_map(ItemKind::BindOff),
        1 => counts().prop_map(ItemKind::CastOn),
        1 => (counts(), name()).prop_map(|(count, name)| ItemKind::Hold { count, name }),
        1 => name().prop_map(|name| ItemKind::HoldRest { name }),
        1 => Just(ItemKind::Turn),
        1 => Just(ItemKind::WrapTurn),
        1 => Just(ItemKind::JoinYarn),
        1 => (acts, marker).prop_map(|(act, name)| ItemKind::Marker { act, name }),
    ]
    .boxed()
}

fn some_item() -> BoxedStrategy<Item> {
    item_of(simple_kind())
        .prop_recursive(4, 24, 4, |inner| {
            let items = vec(inner, 1..=4);
            let group = (items.clone(), counts(), any::<bool>())
                .prop_map(|(items, times, more)| ItemKind::Group { items, times, more });
            item_of(prop_oneof![
                group,
                (items.clone(), star_end())
                    .prop_map(|(items, until)| ItemKind::Star { items, until }),
                items.prop_map(|items| ItemKind::InOne { items }),
            ])
        })
        .boxed()
}

/// A row as the parser can give it: a plain stitch alone goes to the end.
fn some_row() -> BoxedStrategy<Vec<Item>> {
    vec(some_item(), 1..=5).prop_filter("a plain stitch alone is a run", |items| {
        let plain = |name: &str| ["k", "p"].contains(&name);
        !matches!(items.as_slice(), [Item { kind: ItemKind::Stitch { name, count: None }, .. }] if plain(&name.value))
    })
    .boxed()
}

fn some_side() -> impl Strategy<Value = Side> + Clone {
    select(vec![Side::Right, Side::Wrong])
}

fn some_label() -> BoxedStrategy<RowLabel> {
    let ranges = vec(
        (1_u32..=20, 0_u32..=4)
            .prop_map(|(first, more)| RowRange::Numbered { first, last: first + more }),
        0..=3,
    );
    let names = option::of(select(vec!["a", "decrease", "neck increase", "set-up"]));
    let told = (ranges, names, counts(), option::of(some_side()), option::of(some_side()))
        .prop_map(|(numbers, name, next, side, and_all)| {
            let name = name.filter(|_| numbers.is_empty()).map(|n| at(n.to_owned()));
            let plain = !numbers.is_empty() || name.is_some();
            RowLabel {
                span: NOWHERE,
                next: if plain { unwritten(0, 1) } else { next },
                rounds: false,
                and_all: and_all.filter(|_| !numbers.is_empty()),
                name,
                numbers,
                side: side.map(at),
            }
        });
    let all = some_side().prop_map(|side| RowLabel {
        span: NOWHERE,
        numbers: Vec::new(),
        name: None,
        next: unwritten(0, 1),
        rounds: false,
        side: None,
        and_all: Some(side),
    });
    prop_oneof![4 => told, 1 => all].boxed()
}

fn some_extent() -> BoxedStrategy<Extent> {
    let from = prop_oneof![Just(From::CastOn), name().prop_map(|n| From::Named(n.value))];
    prop_oneof![
        counts().prop_map(Extent::Rows),
        counts().prop_map(Extent::Ridges),
        some_lengths().prop_map(Extent::Length),
        (some_lengths(), from).prop_map(|(length, from)| Extent::Until { length, from: at(from) }),
        (counts(), any::<bool>()).prop_map(|(count, more)| Extent::Times { count, more }),
        Just(Extent::Once),
    ]
    .boxed()
}

fn some_fabric() -> BoxedStrategy<FabricName> {
    prop_oneof![
        Just(FabricKind::Stockinette),
        Just(FabricKind::ReverseStockinette),
        Just(FabricKind::Garter),
        Just(FabricKind::Seed),
        (1_u32..=9, 1_u32..=9).prop_map(|(k, p)| FabricKind::Rib(k, p)),
        select(vec!["lattice", "big lattice"]).prop_map(|n| FabricKind::Named(n.to_owned())),
    ]
    .prop_map(|kind| FabricName { span: NOWHERE, kind, edges: None })
    .boxed()
}

fn with_edges() -> BoxedStrategy<FabricName> {
    let edges = (1_u32..=9).prop_map(|stitches| Edges { stitches, kind: FabricKind::Garter });
    (some_fabric(), option::of(edges))
        .prop_map(|(fabric, edges)| FabricName { edges, ..fabric })
        .boxed()
}

fn some_rate() -> BoxedStrategy<Rate> {
    let every = prop_oneof![
        Just(Every::Row),
        some_side().prop_map(Every::Side),
        (given(1_u32..=20), any::<bool>()).prop_map(|(given, live)| Every::Nth(Counts {
            span: NOWHERE,
            given,
            live
        })),
    ];
    let repeated = (every, option::of((counts(), any::<bool>()))).prop_map(|(every, times)| Rate {
        span: NOWHERE,
        every,
        more: times.as_ref().is_some_and(|(_, more)| *more),
        times: times.map(|(count, _)| count),
    });
    let next = Just(Rate { span: NOWHERE, every: Every::Next, times: None, more: false });
    prop_oneof![4 => repeated, 1 => next].boxed()
}

fn some_schedule() -> BoxedStrategy<Schedule> {
    (vec(some_rate(), 1..=3), option::of(counts()))
        .prop_map(|(rates, until)| Schedule { span: NOWHERE, rates, until })
        .boxed()
}

fn some_change() -> impl Strategy<Value = Change> + Clone {
    select(vec![Change::Increase, Change::Decrease])
}

fn stitches_action() -> BoxedStrategy<Action> {
    let cast_on_place = prop_oneof![
        Just(CastOnPlace::Here),
        counts().prop_map(CastOnPlace::StartOfNext),
        counts().prop_map(CastOnPlace::EndOfNext),
        Just(CastOnPlace::OverGap),
    ];
    let ratio =
        (1_u32..=9, 1_u32..=9).prop_map(|(stitches, rows)| PickUp::Ratio { stitches, rows });
    let edge_rows =
        prop_oneof![Just(EdgeRows::Next), option::of(some_side()).prop_map(EdgeRows::EverySecond)];
    let short_rows = (counts(), counts(), edge_rows.clone())
        .prop_map(|(count, rows, which)| Action::ShortRows { count, rows, which });
    let bind_off = prop_oneof![
        option::of(counts()).prop_map(BindOff::All),
        (counts(), counts(), edge_rows).prop_map(|(count, rows, which)| BindOff::StartOfNext {
            count,
            rows,
            which
        }),
    ];
    prop_oneof![
        (counts(), option::of(name()), cast_on_place)
            .prop_map(|(count, gauge, place)| Action::CastOn { count, gauge, place }),
        bind_off.prop_map(|amount| Action::BindOff { amount }),
        short_rows,
        option::of(name()).prop_map(|name| Action::Hold { name }),
        vec(name(), 1..=3).prop_map(Action::TakeUp),
        (prop_oneof![counts().prop_map(PickUp::Count), ratio], option::of(name()))
            .prop_map(|(amount, along)| Action::PickUp { amount, along }),
    ]
    .boxed()
}

fn shaping_action() -> BoxedStrategy<Action> {
    let amount = prop_oneof![counts().prop_map(Amount::To), counts().prop_map(Amount::By)];
    let places = select(vec![
        ShapePlace::EachEnd,
        ShapePlace::Start,
        ShapePlace::End,
        ShapePlace::NeckEdge,
        ShapePlace::ArmholeEdge,
        ShapePlace::EachSideOfMarkers,
        ShapePlace::AtMarkers,
        ShapePlace::Anywhere,
    ]);
    prop_oneof![
        (some_change(), amount, option::of(counts()))
            .prop_map(|(change, amount, over)| Action::Even { change, amount, over, row: None }),
        (some_change(), counts(), places, some_schedule()).prop_map(
            |(change, each, place, schedule)| Action::Shape { change, each, place, schedule }
        ),
        (some_change(), counts(), some_schedule())
            .prop_map(|(change, wedges, schedule)| { Action::Wedges { change, wedges, schedule } }),
    ]
    .boxed()
}

fn row_action() -> BoxedStrategy<Action> {
    (option::of(some_label()), some_row())
        .prop_map(|(label, items)| Action::Row { label, items })
        .prop_filter("a cast-on alone, or yarn, is an instruction of its own", |action| {
            let own = |kind: &ItemKind| matches!(kind, ItemKind::CastOn(_) | ItemKind::JoinYarn);
            !matches!(action, Action::Row { label: None, items }
                if matches!(items.as_slice(), [item] if own(&item.kind)))
        })
        .prop_filter("all that remain before a stitch is worked are all there are", |action| {
            let first = |items: &[Item]| {
                items.first().is_some_and(|item| matches!(item.kind, ItemKind::HoldRest { .. }))
            };
            !matches!(action, Action::Row { label: None, items } if first(items))
        })
        .prop_filter("a color of all there is belongs to the row", |action| {
            !matches!(action, Action::Row { items, .. }
                if matches!(items.as_slice(), [Item { color: Some(_), .. }]))
        })
        .boxed()
}

fn other_action() -> BoxedStrategy<Action> {
    let numbered = (1_u32..=20, 0_u32..=4)
        .prop_map(|(first, more)| RowRange::Numbered { first, last: first + more });
    let repeated = prop_oneof![
        numbered.clone().prop_map(WhichRows::Range),
        (1_u32..=9).prop_map(|n| WhichRows::Range(RowRange::Last(n))),
        select(vec!["a", "decrease", "neck increase"])
            .prop_map(|n| WhichRows::Named(at(n.to_owned()))),
    ];
    let repeat_extent = prop_oneof![
        4 => some_extent(),
        1 => counts().prop_map(Extent::UntilCount),
    ];
    prop_oneof![
        Just(Action::JoinRound),
        Just(Action::WorkFlat),
        Just(Action::Together),
        name().prop_map(Action::ChangeTo),
        vec((counts(), some_color()).prop_map(|(rows, color)| Stripe { rows, color }), 1..=3)
            .prop_map(Action::Stripes),
        (option::of(with_edges()), some_extent())
            .prop_map(|(fabric, extent)| Action::Work { fabric, extent }),
        (repeated.clone(), repeat_extent)
            .prop_map(|(rows, extent)| Action::Repeat { rows, extent }),
        (repeated, some_schedule()).prop_map(|(row, schedule)| Action::RepeatAt { row, schedule }),
        (some_label(), numbered).prop_map(|(label, rows)| Action::SameRows { label, rows }),
        (name(), any::<bool>()).prop_map(|(name, each)| Action::Part { name, each }),
        (name(), option::of(name())).prop_map(|(name, of)| Action::Reverse { name, of }),
        (name(), option::of(name()), any::<bool>())
            .prop_map(|(piece, to, reversed)| Action::AsFor { piece, to, reversed }),
    ]
    .boxed()
}

fn takes_the_color_of_the_row(items: &[Item]) -> bool {
    let mut named = false;
    visit::each_item(items, &mut |item| named |= item.color.is_some());
    named && items.last().is_some_and(|last| last.color.is_none() && last.kind.works_stitches())
}

fn some_step() -> BoxedStrategy<Step> {
    let action = prop_oneof![
        2 => stitches_action(),
        2 => shaping_action(),
        3 => row_action(),
        3 => other_action(),
    ];
    let sizes =
        vec(select(vec!["large", "extra small", "42"]).prop_map(|n| at(n.to_owned())), 0..=3);
    let stated = option::of(counts());
    let ending =
        prop_oneof![some_side().prop_map(Ending::Side), (1_u32..=12).prop_map(Ending::Row),];
    let color = option::weighted(0.2, some_color());
    (sizes, action, color, option::of(ending), stated, vec(some_mark(), 0..=2))
        .prop_map(|(only, action, color, ending, stated, marks)| {
            // After a live count at the end of a row, a mark would belong to the count.
            let live = match &action {
                Action::Row { items, .. } => items.last().is_some_and(|i| row::is_live(&i.kind)),
                _ => false,
            };
            let marks =
                if live && stated.is_none() && ending.is_none() { Vec::new() } else { marks };
            // Among stitches of colors of their own the last would have it.
            let color = color.filter(|_| match &action {
                Action::Row { items, .. } => !takes_the_color_of_the_row(items),
                _ => true,
            });
            Step {
                span: NOWHERE,
                only,
                lead: None,
                facing: None,
                color,
                action,
                ending: ending.map(at),
                stated,
                marks,
                remark: None,
                link: None,
                steps: Vec::new(),
            }
        })
        .boxed()
}

// ---- The promises ----------------------------------------------------------

proptest! {
    #[test]
    fn a_row_reads_back_as_it_was(row in some_row()) {
        let text = items(&row);
        let read = row::parse_items(&text, 0, &own())
            .map_err(|f| TestCaseError::fail(format!("{text}\n{f:#?}")))?;
        prop_assert_eq!(without_places(&read), without_places(&row), "{}", text);
    }

    #[test]
    fn an_instruction_reads_back_as_it_was(instruction in some_step(), round in any::<bool>()) {
        let setting = if round { Setting::Round } else { Setting::Flat };
        let text = step(&instruction, setting, |_| String::new());
        let read = step::parse(&text, 0, &own())
            .map_err(|f| TestCaseError::fail(format!("{text}\n{f:#?}")))?;
        prop_assert_eq!(without_places(&read), without_places(&instruction), "{}", text);
    }
}

#[test]
fn places_are_taken_out() {
    let tree = Spanned::new(RowRange::Last(3), Span::new(3, 14));
    assert_eq!(without_places(&tree), "Last(3) @ ");
}

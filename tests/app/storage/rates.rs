//! Dated prices: history stays, the book of a day has the prices of that day.

use hitchwright::{
    domain::{
        measure::{Length, Money},
        shop::{BarLength, Goods, Item, ItemClass, PricedBy, SheetSize, ShopBook, Sizes, Supply},
    },
    storage::*,
};
use jiff::civil::{Date, date};

use super::{at, kept, mara, money, tam};

fn bar(code: &str, price: &str, from: Date) -> Item {
    let Item { goods, .. } = bars().remove(0);
    let Goods::Bar { section, grade, .. } = goods else { panic!("a bar") };
    let lengths = vec![
        BarLength { length: Length::from_mm(6100.0), price: Some(money("44.10")) },
        BarLength { length: Length::from_mm(7500.0), price: None },
    ];
    let goods = Goods::Bar { section, grade, lengths };
    Item { code: code.into(), price: money(price), from, goods, retired: false, ..bars().remove(0) }
}

/// The bars of the demo shop.
fn bars() -> Vec<Item> {
    let items = ShopBook::demo().rates.items;
    items.into_iter().filter(|item| matches!(item.goods, Goods::Bar { .. })).collect()
}

fn price_on(book: &hitchwright::domain::shop::RateBook, code: &str) -> Option<(Money, Date)> {
    book.items.iter().find(|item| item.code == code).map(|item| (item.price, item.from))
}

#[tokio::test]
async fn the_demo_book_comes_back_as_it_went_in() {
    let kept = kept().await;
    let store = &kept.store;
    let demo = ShopBook::demo();
    assert_eq!(store.shop_book(demo.rates.day).await.unwrap(), None);
    assert_eq!(store.save_shop_book(None, &demo, mara(0)).await.unwrap(), Save::Saved(Version::FIRST));
    assert_eq!(store.add_items(&demo.rates.items, mara(0)).await.unwrap(), Vec::<String>::new());
    let mut kept = store.shop_book(demo.rates.day).await.unwrap().unwrap();
    assert_eq!(kept.version, Version::FIRST);
    let mut expected = demo.clone();
    for items in [&mut kept.book.rates.items, &mut expected.rates.items] {
        items.sort_by(|one, other| one.code.cmp(&other.code));
    }
    assert_eq!(kept.book, expected);
    assert_eq!(store.add_items(&demo.rates.items[..2], mara(1)).await.unwrap().len(), 2, "their codes are taken");
}

/// What rests on an unchanged file is read again after a write, whoever wrote: this store, or another program on the same file.
#[tokio::test]
async fn the_file_s_state_moves_with_every_write() {
    let kept = kept().await;
    let other = Store::open(&kept.folder.path().join("shop.sqlite")).await.unwrap().store;
    let mut before = kept.store.file_state().await.unwrap();
    for (nth, store) in [&kept.store, &other, &kept.store].into_iter().enumerate() {
        assert_eq!(kept.store.file_state().await.unwrap(), before, "reading leaves it as it is");
        kept.store.items(date(2026, 3, 1), None).await.unwrap();
        let item = bar(&format!("B{nth}"), "7.20", date(2026, 3, 1));
        assert_eq!(store.add_item(&item, mara(0)).await.unwrap(), Added::Done);
        let after = kept.store.file_state().await.unwrap();
        assert_ne!(after, before);
        before = after;
    }
}

#[tokio::test]
async fn the_shop_s_book_is_saved_by_version() {
    let kept = kept().await;
    let store = &kept.store;
    let demo = ShopBook::demo();
    assert!(matches!(store.save_shop_book(None, &demo, mara(0)).await.unwrap(), Save::Saved(_)));
    let theirs = ShopBook { town: "Upper Wick".into(), ..demo.clone() };
    let save = store.save_shop_book(Some(Version::FIRST), &theirs, tam(1)).await.unwrap();
    let Save::Saved(second) = save else { panic!("{save:?}") };
    for stale in [None, Some(Version::FIRST)] {
        let save = store.save_shop_book(stale, &demo, mara(2)).await.unwrap();
        let Save::Conflict(conflict) = save else { panic!("{save:?}") };
        assert_eq!((conflict.theirs.town.as_str(), conflict.version), ("Upper Wick", second));
        assert_eq!((conflict.who.as_str(), conflict.when), (tam(1).who, at(1)));
    }
    assert_eq!(store.shop_book(demo.rates.day).await.unwrap().unwrap().book.town, "Upper Wick");
    let versions = store.shop_book_versions().await.unwrap();
    assert_eq!(versions.iter().map(|version| version.version).collect::<Vec<_>>(), [second, Version::FIRST]);
    assert_eq!(store.shop_audit().await.unwrap()[0].after, Some(serde_json::json!({"town": "Upper Wick"})));
}

#[tokio::test]
async fn a_price_holds_from_its_day_and_history_is_never_rewritten() {
    let kept = kept().await;
    let store = &kept.store;
    let spring = date(2026, 3, 1);
    assert_eq!(store.add_item(&bar("B1", "7.20", spring), mara(0)).await.unwrap(), Added::Done);
    assert_eq!(store.add_item(&bar("B1", "9.99", spring), mara(0)).await.unwrap(), Added::Taken);
    let autumn = date(2026, 9, 1);
    let mut version = Version::FIRST;
    // Two edits for one day: the one entered later wins. And one for a day before both, entered last.
    for (price, from, seconds) in [("7.90", autumn, 1), ("8.10", autumn, 2), ("7.50", date(2026, 6, 1), 3)] {
        let save = store.edit_price("B1", version, money(price), None, from, mara(seconds)).await.unwrap();
        let Save::Saved(next) = save else { panic!("{save:?}") };
        version = next;
    }
    for (day, expected) in [
        (date(2026, 2, 28), None),
        (spring, Some(("7.20", spring))),
        (date(2026, 5, 31), Some(("7.20", spring))),
        (date(2026, 6, 1), Some(("7.50", date(2026, 6, 1)))),
        (date(2026, 8, 31), Some(("7.50", date(2026, 6, 1)))),
        (autumn, Some(("8.10", autumn))),
        (date(2030, 1, 1), Some(("8.10", autumn))),
    ] {
        let book = store.rate_book(day).await.unwrap();
        assert_eq!(book.day, day);
        assert_eq!(price_on(&book, "B1"), expected.map(|(price, from)| (money(price), from)), "{day}");
    }
    let history = store.item_history("B1").await.unwrap();
    let told: Vec<_> = history.iter().map(|row| (row.from, row.price.0.to_string(), row.entered_at)).collect();
    assert_eq!(
        told,
        [
            (autumn, "8.10".into(), at(2)),
            (autumn, "7.90".into(), at(1)),
            (date(2026, 6, 1), "7.50".into(), at(3)),
            (spring, "7.20".into(), at(0)),
        ]
    );
    let stale = store.edit_price("B1", Version::FIRST, money("1"), None, autumn, tam(4)).await.unwrap();
    let Save::Conflict(conflict) = stale else { panic!("{stale:?}") };
    assert_eq!((conflict.theirs.price, conflict.version, conflict.who), (money("8.10"), version, mara(0).who.into()));
    assert_eq!(store.item_history("B1").await.unwrap().len(), 4);
    assert_eq!(store.edit_price("none", version, money("1"), None, autumn, tam(4)).await.unwrap(), Save::Missing);
    assert_eq!(store.item_audit("B1").await.unwrap().len(), 4);
}

#[tokio::test]
async fn the_database_itself_refuses_to_rewrite_a_price() {
    let kept = kept().await;
    assert_eq!(kept.store.add_item(&bar("B1", "7.20", date(2026, 3, 1)), mara(0)).await.unwrap(), Added::Done);
    let mut hand = super::past_the_store(&kept).await;
    for sql in ["UPDATE rate_price SET price = '1'", "DELETE FROM rate_price"] {
        let error = sqlx::query(sql).execute(&mut hand).await.expect_err(sql).to_string();
        assert!(error.contains("enter a new one"), "{error}");
    }
}

#[tokio::test]
async fn sizes_and_their_prices_are_dated_too() {
    let kept = kept().await;
    let store = &kept.store;
    let (spring, autumn) = (date(2026, 3, 1), date(2026, 9, 1));
    let item = bar("B1", "7.20", spring);
    assert_eq!(store.add_item(&item, mara(0)).await.unwrap(), Added::Done);
    let longer = vec![BarLength { length: Length::from_mm(12_000.0), price: Some(money("88.00")) }];
    let sizes = Some(Sizes::Lengths(longer.clone()));
    let save = store.edit_price("B1", Version::FIRST, money("7.40"), sizes.clone(), autumn, mara(1)).await.unwrap();
    assert!(matches!(save, Save::Saved(_)));
    assert_eq!(store.item("B1", spring).await.unwrap().unwrap().item, item);
    let later = store.item("B1", autumn).await.unwrap().unwrap().item;
    let Goods::Bar { lengths, .. } = &later.goods else { panic!("a bar") };
    assert_eq!(*lengths, longer);
    assert_eq!(store.item_history("B1").await.unwrap()[0].sizes, sizes);

    let demo = ShopBook::demo().rates.items;
    let sheet = demo.iter().find(|item| matches!(item.goods, Goods::Sheet { .. })).unwrap();
    assert_eq!(store.add_item(sheet, mara(2)).await.unwrap(), Added::Done);
    let size =
        SheetSize { length: Length::from_mm(3000.0), width: Length::from_mm(1500.0), price: Some(money("99.5")) };
    let sizes = Some(Sizes::Sheets(vec![size.clone()]));
    let day = date(2027, 1, 1);
    let save = store.edit_price(&sheet.code, Version::FIRST, sheet.price, sizes, day, mara(3)).await.unwrap();
    assert!(matches!(save, Save::Saved(_)));
    let kept = store.item(&sheet.code, day).await.unwrap().unwrap().item;
    assert!(matches!(&kept.goods, Goods::Sheet { sizes, .. } if *sizes == [size]), "{kept:?}");
}

#[tokio::test]
async fn an_item_is_saved_and_retired() {
    let kept = kept().await;
    let store = &kept.store;
    let item = bar("B1", "7.20", date(2026, 3, 1));
    assert_eq!(store.add_item(&item, mara(0)).await.unwrap(), Added::Done);
    // A new name adds no price; a new price adds one.
    let renamed = Item { name: "square tube".into(), ..item.clone() };
    let save = store.save_item(Version::FIRST, &renamed, mara(1)).await.unwrap();
    let Save::Saved(version) = save else { panic!("{save:?}") };
    assert_eq!(store.item_history("B1").await.unwrap().len(), 1);
    let dearer = Item { price: money("7.30"), from: date(2026, 4, 1), ..renamed.clone() };
    let save = store.save_item(version, &dearer, mara(2)).await.unwrap();
    let Save::Saved(version) = save else { panic!("{save:?}") };
    assert_eq!(store.item_history("B1").await.unwrap().len(), 2);
    assert_eq!(store.item("B1", date(2026, 4, 1)).await.unwrap().unwrap().item, dearer);
    assert_eq!(store.item("B1", date(2026, 3, 1)).await.unwrap().unwrap().item, renamed);
    let stale = store.save_item(Version::FIRST, &item, tam(3)).await.unwrap();
    assert!(matches!(stale, Save::Conflict(conflict) if conflict.version == version));

    let winter = date(2026, 12, 1);
    let save = store.retire_item("B1", version, Some(winter), mara(4)).await.unwrap();
    let Save::Saved(version) = save else { panic!("{save:?}") };
    let retired = async |day| store.rate_book(day).await.unwrap().items[0].retired;
    assert!(!retired(date(2026, 11, 30)).await);
    assert!(retired(winter).await);
    let save = store.retire_item("B1", version, None, mara(5)).await.unwrap();
    assert!(matches!(save, Save::Saved(_)));
    assert!(!retired(winter).await);
    assert_eq!(store.item_history("B1").await.unwrap().len(), 2, "retiring is no price");
    assert_eq!(store.retire_item("none", version, None, mara(5)).await.unwrap(), Save::Missing);
}

#[tokio::test]
async fn a_bulk_change_writes_what_its_preview_showed_or_nothing() {
    let kept = kept().await;
    let store = &kept.store;
    let spring = date(2026, 3, 1);
    let class = bar("B1", "1", spring).class;
    let scope = BulkScope { class: Some(class), ..BulkScope::default() };
    for (code, price) in [("B1", "7.20"), ("B2", "10.00"), ("B3", "3.33")] {
        assert_eq!(store.add_item(&bar(code, price, spring), mara(0)).await.unwrap(), Added::Done);
    }
    assert!(matches!(store.retire_item("B3", Version::FIRST, Some(spring), mara(1)).await.unwrap(), Save::Saved(_)));
    let autumn = date(2026, 9, 1);
    let percent = "7.5".parse().unwrap();
    let preview: Vec<_> =
        store.items(autumn, Some(class)).await.unwrap().into_iter().filter(|kept| !kept.item.retired).collect();
    let seen: Vec<_> = preview.iter().map(|kept| (kept.item.code.clone(), kept.version)).collect();
    assert_eq!(seen.len(), 2);

    // Somebody edits one of them after the preview.
    assert!(matches!(
        store.edit_price("B2", Version::FIRST, money("10.50"), None, autumn, tam(2)).await.unwrap(),
        Save::Saved(_)
    ));
    let refused = store.bulk_change(&scope, percent, autumn, &seen, mara(3)).await.unwrap();
    assert_eq!(refused, BulkChange::Changed(vec!["B2".into()]));
    assert_eq!(store.item_history("B1").await.unwrap().len(), 1);

    let preview: Vec<_> =
        store.items(autumn, Some(class)).await.unwrap().into_iter().filter(|kept| !kept.item.retired).collect();
    let seen: Vec<_> = preview.iter().map(|kept| (kept.item.code.clone(), kept.version)).collect();
    assert_eq!(store.bulk_change(&scope, percent, autumn, &seen, mara(4)).await.unwrap(), BulkChange::Done(2));
    let after = store.rate_book(autumn).await.unwrap();
    assert_eq!(price_on(&after, "B1"), Some((money("7.74"), autumn)));
    assert_eq!(price_on(&after, "B2"), Some((money("11.29"), autumn)), "11.2875, halves away from zero");
    for kept in preview {
        let now = store.item(&kept.item.code, autumn).await.unwrap().unwrap().item;
        assert_eq!(now, Item { from: autumn, ..kept.item.changed_by_percent(percent) }, "as the preview showed it");
    }
    assert_eq!(price_on(&store.rate_book(spring).await.unwrap(), "B1"), Some((money("7.20"), spring)));
    assert_eq!(store.item_history("B3").await.unwrap().len(), 1, "the retired one stays");
    let gone = vec![("B9".to_owned(), Version::FIRST)];
    let none = store
        .bulk_change(
            &BulkScope { class: Some(ItemClass::Timber), ..BulkScope::default() },
            percent,
            autumn,
            &gone,
            mara(5),
        )
        .await
        .unwrap();
    assert_eq!(none, BulkChange::Changed(vec!["B9".into()]));
}

#[tokio::test]
async fn a_bulk_change_is_taken_back_whole_while_nothing_newer_stands_on_it() {
    let kept = kept().await;
    let store = &kept.store;
    let spring = date(2026, 3, 1);
    for (code, price) in [("B1", "7.20"), ("B2", "10.00")] {
        assert_eq!(store.add_item(&bar(code, price, spring), mara(0)).await.unwrap(), Added::Done);
    }
    let supply = Supply {
        supplier: "Quay Metals".into(),
        article: "Q-7".into(),
        pack: "5".parse().unwrap(),
        lead_days: 4,
        price: money("6.90"),
        from: spring,
        sizes: None,
    };
    assert!(matches!(store.put_supply("B1", Version::FIRST, &supply, mara(1)).await.unwrap(), Save::Saved(_)));
    let autumn = date(2026, 9, 1);
    let (before, others) = (store.rate_book(autumn).await.unwrap(), store.supplies(autumn).await.unwrap());
    let scope = BulkScope::default();
    let percent = "12".parse().unwrap();
    let seen = async || -> Vec<(String, Version)> {
        let lines = store.bulk_lines(&scope, autumn).await.unwrap();
        lines.into_iter().map(|line| (line.kept.item.code.clone(), line.kept.version)).collect()
    };
    let now = seen().await;
    assert_eq!(now.len(), 3, "two of their own and one of another supplier");
    assert_eq!(store.bulk_change(&scope, percent, autumn, &now, mara(2)).await.unwrap(), BulkChange::Done(3));
    assert_eq!(store.supplies_of("B1", autumn).await.unwrap()[0].price, money("7.73"));
    let batch = store.batches(5).await.unwrap().remove(0);
    assert_eq!((batch.prices, batch.undoable, batch.undone.is_none()), (3, true, true));

    // A newer price stands on one of them.
    let version = store.item("B2", autumn).await.unwrap().unwrap().version;
    assert!(matches!(
        store.edit_price("B2", version, money("10.9"), None, autumn, tam(3)).await.unwrap(),
        Save::Saved(_)
    ));
    assert_eq!(store.undo_batch(batch.id, mara(4)).await.unwrap(), Undone::Newer(vec!["B2".into()]));
    assert_eq!(store.undo_batch(batch.id + 1, mara(4)).await.unwrap(), Undone::Missing);

    // Another change, of one supplier only, is taken back to the letter.
    let scope = BulkScope { supplier: Some("Quay Metals".into()), ..BulkScope::default() };
    let middle = (store.rate_book(autumn).await.unwrap(), store.supplies(autumn).await.unwrap());
    let version = store.item("B1", autumn).await.unwrap().unwrap().version;
    let done = store.bulk_change(&scope, percent, autumn, &[("B1".into(), version)], mara(5)).await.unwrap();
    assert_eq!(done, BulkChange::Done(1));
    let second = store.batches(1).await.unwrap().remove(0);
    assert_eq!(store.undo_batch(second.id, mara(6)).await.unwrap(), Undone::Done(1));
    assert_eq!((store.rate_book(autumn).await.unwrap(), store.supplies(autumn).await.unwrap()), middle);
    assert_eq!(store.undo_batch(second.id, mara(7)).await.unwrap(), Undone::Already);
    let history = store.item_history("B1").await.unwrap();
    assert_eq!(history.len(), 5, "both stay: {history:?}");
    assert_eq!(history.iter().filter(|price| price.undone).count(), 1);
    let trail = store.item_audit("B1").await.unwrap();
    assert!(trail.iter().any(|line| line.what.starts_with("took back")), "{trail:?}");

    let third = BulkScope { codes: vec!["B1".into()], ..BulkScope::default() };
    let (middle, version) =
        (store.rate_book(autumn).await.unwrap(), store.item("B1", autumn).await.unwrap().unwrap().version);
    let done = store.bulk_change(&third, percent, autumn, &[("B1".into(), version)], mara(8)).await.unwrap();
    assert_eq!(done, BulkChange::Done(2));
    let last = store.batches(1).await.unwrap().remove(0);
    assert_eq!(store.undo_batch(last.id, mara(9)).await.unwrap(), Undone::Done(1));
    assert_eq!(store.rate_book(autumn).await.unwrap(), middle);
    // From the day before the first change on, nothing ever moved.
    let summer = date(2026, 8, 31);
    let (book, supplies) = (store.rate_book(summer).await.unwrap(), store.supplies(summer).await.unwrap());
    assert_eq!((book.items, supplies), (before.items, others));
    assert_eq!(store.verify().await.unwrap(), Vec::<String>::new());
}

#[tokio::test]
async fn the_shop_says_which_supplier_prices() {
    let kept = kept().await;
    let store = &kept.store;
    let spring = date(2026, 3, 1);
    let mut item = bar("B1", "7.20", spring);
    if let Goods::Bar { lengths, .. } = &mut item.goods {
        lengths.iter_mut().for_each(|bar| bar.price = None);
    }
    assert_eq!(store.add_item(&item, mara(0)).await.unwrap(), Added::Done);
    let supply = |name: &str, price: &str, from| Supply {
        supplier: name.into(),
        article: String::new(),
        pack: "1".parse().unwrap(),
        lead_days: 4,
        price: money(price),
        from,
        sizes: None,
    };
    let mut version = Version::FIRST;
    let summer = date(2026, 6, 1);
    for other in [supply("Quay Metals", "7.00", spring), supply("Upper Wick Tube", "6.50", summer)] {
        let Save::Saved(next) = store.put_supply("B1", version, &other, mara(1)).await.unwrap() else { panic!() };
        version = next;
    }
    let priced = async |day| {
        let item = store.rate_book(day).await.unwrap().items.remove(0);
        (item.supplier, item.price.0.to_string())
    };
    assert_eq!(priced(summer).await.1, "7.20", "the first, until the shop says otherwise");
    for (by, on_spring, on_summer) in [
        (PricedBy::Cheapest, "7.00", "6.50"),
        (PricedBy::Supplier("Quay Metals".into()), "7.00", "7.00"),
        (PricedBy::Supplier("Upper Wick Tube".into()), "7.20", "6.50"),
    ] {
        let save = store.put_priced_by("B1", version, (&by, "A-1"), summer, mara(2)).await.unwrap();
        let Save::Saved(next) = save else { panic!("{save:?}") };
        version = next;
        assert_eq!((priced(spring).await.1.as_str(), priced(summer).await.1.as_str()), (on_spring, on_summer), "{by}");
    }
    let stale = store.put_supply("B1", Version::FIRST, &supply("X", "1", spring), tam(3)).await.unwrap();
    assert!(matches!(stale, Save::Conflict(_)));
    let dropped = store.drop_supply("B1", version, "Upper Wick Tube", date(2026, 7, 1), mara(4)).await.unwrap();
    assert!(matches!(dropped, Save::Saved(_)));
    assert_eq!((priced(summer).await.1.as_str(), priced(date(2026, 7, 1)).await.1.as_str()), ("6.50", "7.20"));
    let coming = store.coming_prices(spring).await.unwrap();
    assert!(coming.is_empty(), "those of other suppliers are not the item's: {coming:?}");
}

// SPDX-License-Identifier: MIT
#include "book/money/consent.h"
#include "book/job/intake.h"
#include "book/money/payment.h"
#include "book/store/moment.h"
#include "book/store/private.h"
#include "book/shop/settings.h"
#include "book/shop/stock.h"
#include "book/job/work.h"
#include "shop.h"

#include <math.h>

START_TEST(amounts_are_read_and_rounded_exactly)
{
    static const struct {
        const char *text;
        int digits;
        int64_t amount; // DW_AMOUNT_NONE: refused
    } cases[] = {{"0", 2, 0},
                 {"12", 2, 1200},
                 {"12.3", 2, 1230},
                 {"-0,05", 2, -5},
                 {".5", 2, 50},
                 {"1234", 0, 1234},
                 {"1.234", 3, 1234},
                 {"12.345", 2, DW_AMOUNT_NONE},
                 {"1.2.3", 2, DW_AMOUNT_NONE},
                 {"", 2, DW_AMOUNT_NONE},
                 {"£5", 2, DW_AMOUNT_NONE},
                 {"5.", 2, 500},
                 {"1e3", 2, DW_AMOUNT_NONE},
                 {"99999999999999999999", 2, DW_AMOUNT_NONE}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        int64_t amount = DW_AMOUNT_NONE;
        dw_money_read(cases[i].text, cases[i].digits, &amount, NULL);
        ck_assert_msg(amount == cases[i].amount, "%s gave %lld", cases[i].text, (long long)amount);
    }
    static const struct {
        int64_t amount;
        int digits;
        const char *text;
    } shown[] = {{-5, 2, "-0.05"}, {123456, 2, "1234.56"}, {7, 0, "7"}, {1, 3, "0.001"}, {DW_AMOUNT_NONE, 2, ""}};
    for (size_t i = 0; i < sizeof shown / sizeof *shown; i++) {
        char *text = dw_money_text(shown[i].amount, shown[i].digits);
        ck_assert_str_eq(text, shown[i].text);
        free(text);
    }
    // Worked by hand: 20 % of 0.05 is 0.01; 8.875 % of 100.00 is 8.875 → 8.88; halves away from zero.
    ck_assert_int_eq(dw_money_share(5, 200000), 1);
    ck_assert_int_eq(dw_money_share(10000, 88750), 888);
    ck_assert_int_eq(dw_money_share(-10000, 88750), -888);
    ck_assert_int_eq(dw_money_share(25, 100000), 3); // 2.5
    int64_t amount = 0;
    ck_assert(dw_money_times(333, 0.1, &amount));
    ck_assert_int_eq(amount, 33);
    ck_assert(dw_money_times(15, 0.1, &amount));
    ck_assert_int_eq(amount, 2); // 1.5: a tenth is a tenth here, not a little more
    ck_assert(dw_money_labour(45, 8500, &amount));
    ck_assert_int_eq(amount, 6375);
    ck_assert(dw_money_labour(1, 90, &amount));
    ck_assert_int_eq(amount, 2); // 1.5
    // What is more than is billed is refused, however large, and nothing is written.
    ck_assert(!dw_money_times(DW_AMOUNT_MOST, 2, &amount));
    ck_assert(!dw_money_times(1, 1e300, &amount));
    ck_assert(!dw_money_times(1, INFINITY, &amount));
    ck_assert(!dw_money_labour(INT64_MAX, INT64_MAX, &amount));
    ck_assert_int_eq(amount, 2);
}
END_TEST

START_TEST(days_are_those_of_the_calendar)
{
    static const char *const good[] = {"2024-02-29", "1999-12-31", "2026-01-01"};
    static const char *const bad[] = {"2023-02-29", "2024-13-01", "2024-00-10", "2024-1-1",
                                      "24-01-01",   "",           "2024-01-01x"};
    for (size_t i = 0; i < sizeof good / sizeof *good; i++)
        ck_assert(dw_moment_is_date(good[i]));
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        ck_assert_msg(!dw_moment_is_date(bad[i]), "%s", bad[i]);
    ck_assert(dw_moment_is_moment("2024-02-29T23:59:59Z"));
    ck_assert(!dw_moment_is_moment("2024-02-29T24:00:00Z"));
    ck_assert(!dw_moment_is_moment("2024-02-29 23:59:59"));
    char date[DW_DATE_SIZE];
    dw_moment_add_days("2024-02-28", 2, date);
    ck_assert_str_eq(date, "2024-03-01");
    dw_moment_add_days("2024-03-01", -1, date);
    ck_assert_str_eq(date, "2024-02-29");
    ck_assert_int_eq(dw_moment_days_between("2023-12-31", "2025-01-01"), 367);
    // The shop's day, not that of Greenwich: 02:00 in summer there is still the day before here.
    setenv("TZ", "EST5EDT", 1);
    dw_moment_day("2026-07-02T02:00:00Z", date);
    ck_assert_str_eq(date, "2026-07-01");
    setenv("TZ", "UTC", 1);
}
END_TEST

static void add_line(DwBook *book, int64_t estimate, DwTier tier, DwLineKind kind, const char *name, int64_t minutes,
                     int64_t price, double quantity)
{
    DwBillLine line;
    dw_record_init(&line.record, &dw_estimate_line_entity);
    line.bill_id = estimate;
    line.tier = (int)tier;
    line.kind = (int)kind;
    line.name = dw_memory_text(name);
    line.minutes = minutes;
    line.price = price;
    line.quantity = quantity;
    ck_book(dw_bill_add(book, &line, message));
    dw_record_clear(&line.record);
}

static void expect_totals(DwBook *book, int64_t estimate, DwTier tier, int64_t net, int64_t tax, bool uneconomic)
{
    DwTotals totals;
    bool above;
    ck_book(dw_estimate_totals(book, estimate, tier, &totals, &above, message));
    ck_assert_int_eq(totals.net, net);
    ck_assert_int_eq(totals.tax, tax);
    ck_assert_int_eq(totals.gross, net + tax);
    ck_assert_int_eq(above, uneconomic);
}

static int64_t draft(DwBook *book, int64_t job)
{
    DwEstimate estimate;
    dw_record_init(&estimate.record, &dw_estimate_entity);
    ck_book(dw_estimate_draft(book, job, &estimate, message));
    int64_t id = estimate.record.id;
    dw_record_clear(&estimate.record);
    return id;
}

static void init_consent(DwConsent *consent, int64_t job, int64_t estimate, DwConsentAnswer answer)
{
    dw_record_init(&consent->record, &dw_consent_entity);
    consent->job_id = job;
    consent->estimate_id = estimate;
    consent->tier = DW_TIER_RECOMMENDED;
    consent->answer = (int)answer;
    consent->person = dw_memory_text("Ada Sample");
    consent->how = DW_ROUTE_TELEPHONE;
}

START_TEST(estimates_come_in_versions_and_options)
{
    setenv("TZ", "UTC", 1);
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    dw_book_set_now(book, "2026-03-01T10:00:00Z");
    ck_book(dw_settings_set(book, "money.labour_rate", "85", message));
    ck_book(dw_settings_set(book, "money.tax_rate", "20", message));
    int64_t job = shop_first_job(book), first = draft(book, job);
    ck_refused(dw_estimate_issue(book, first, message), "no lines");
    add_line(book, first, DW_TIER_MINIMUM, DW_LINE_LABOUR, "belt and path", 10, DW_AMOUNT_NONE, NAN); // 14.17
    add_line(book, first, DW_TIER_MINIMUM, DW_LINE_PART, "belt", 0, 1850, 1);
    add_line(book, first, DW_TIER_RECOMMENDED, DW_LINE_LABOUR, "bearing", 20, DW_AMOUNT_NONE, NAN); // 28.33
    add_line(book, first, DW_TIER_FULL, DW_LINE_LABOUR, "overhaul", 300, DW_AMOUNT_NONE, NAN);      // 425.00
    DwBillLine bare;
    dw_record_init(&bare.record, &dw_estimate_line_entity);
    bare.bill_id = first;
    bare.kind = DW_LINE_PART;
    bare.name = dw_memory_text("x");
    ck_refused(dw_bill_add(book, &bare, message), "neither an amount nor a price");
    dw_record_clear(&bare.record);
    DwEstimate estimate;
    dw_record_init(&estimate.record, &dw_estimate_entity);
    ck_book(dw_record_load(book, &estimate.record, first, message));
    ck_book(dw_record_set(book, &estimate.record, "replacement_value", "1000", message));
    ck_book(dw_record_save(book, &estimate.record, message));
    // By hand: 14.17 + 18.50 = 32.67, tax 6.534 → 6.53; + 28.33 = 61.00, tax 12.20; + 425 = 486.00, tax 97.20.
    expect_totals(book, first, DW_TIER_MINIMUM, 3267, 653, false);
    expect_totals(book, first, DW_TIER_RECOMMENDED, 6100, 1220, false);
    expect_totals(book, first, DW_TIER_FULL, 48600, 9720, true); // 583.20 is above half of 1000
    ck_book(dw_estimate_issue(book, first, message));
    ck_refused(dw_estimate_issue(book, first, message), "given out already");
    ck_book(dw_record_load(book, &estimate.record, first, message));
    ck_assert_str_eq(estimate.valid_until, "2026-03-31");
    ck_book(dw_record_set(book, &estimate.record, "tax_rate", "0", message));
    ck_refused(dw_record_save(book, &estimate.record, message), "Start another version");
    ck_assert_int_eq(dw_query_run(book, "UPDATE estimate_line SET amount = 1", NULL), DW_BAD_INPUT);
    ck_assert_int_eq(dw_query_run(book, "DELETE FROM estimate_line", NULL), DW_BAD_INPUT);
    int64_t second = draft(book, job);
    expect_totals(book, second, DW_TIER_FULL, 48600, 9720, true); // taken over
    add_line(book, second, DW_TIER_MINIMUM, DW_LINE_PART, "stylus", 0, 4000, 1);
    ck_book(dw_estimate_issue(book, second, message));
    ck_book(dw_record_load(book, &estimate.record, first, message));
    ck_assert_int_eq(estimate.state, DW_ESTIMATE_REPLACED);
    ck_book(dw_record_load(book, &estimate.record, second, message));
    ck_assert_int_eq(estimate.version, 2);
    dw_record_clear(&estimate.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(consent_is_logged_with_its_amount)
{
    setenv("TZ", "UTC", 1);
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    dw_book_set_now(book, "2026-03-01T10:00:00Z");
    int64_t job = shop_first_job(book), estimate = draft(book, job), agreed = 0;
    ck_book(dw_consent_agreed(book, job, &agreed, message));
    ck_assert(agreed == DW_AMOUNT_NONE);
    DwIntake intake;
    dw_record_init(&intake.record, &dw_intake_entity);
    intake.job_id = job;
    intake.ceiling = 5000;
    intake.at = dw_memory_text("2026-03-01T10:00:00Z");
    ck_book(dw_record_save(book, &intake.record, message));
    dw_record_clear(&intake.record);
    ck_book(dw_consent_agreed(book, job, &agreed, message));
    ck_assert_int_eq(agreed, 5000);
    add_line(book, estimate, DW_TIER_RECOMMENDED, DW_LINE_PART, "belt", 0, 1850, 2);
    DwConsent consent;
    init_consent(&consent, job, estimate, DW_CONSENT_AGREED);
    ck_refused(dw_consent_log(book, &consent, message), "not open to an answer");
    ck_book(dw_estimate_issue(book, estimate, message));
    dw_book_set_now(book, "2026-04-01T10:00:00Z");
    ck_refused(dw_consent_log(book, &consent, message), "ran out on 2026-03-31");
    dw_book_set_now(book, "2026-03-31T10:00:00Z");
    dw_record_clear(&consent.record);
    init_consent(&consent, job, estimate, DW_CONSENT_AGREED);
    ck_book(dw_consent_log(book, &consent, message));
    ck_assert_int_eq(consent.amount, 3700);
    dw_record_clear(&consent.record);
    init_consent(&consent, job, 0, DW_CONSENT_UP_TO);
    ck_refused(dw_consent_log(book, &consent, message), "amount that was agreed");
    consent.amount = 9000;
    ck_book(dw_consent_log(book, &consent, message));
    ck_book(dw_consent_agreed(book, job, &agreed, message));
    ck_assert_int_eq(agreed, 9000);
    ck_assert_int_eq(dw_query_run(book, "UPDATE consent SET amount = 1", NULL), DW_BAD_INPUT);
    ck_assert_int_eq(dw_query_run(book, "DELETE FROM consent", NULL), DW_BAD_INPUT);
    dw_record_clear(&consent.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(an_invoice_takes_the_agreed_option_and_starts_the_warranty)
{
    setenv("TZ", "UTC", 1);
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    dw_book_set_now(book, "2026-03-01T10:00:00Z");
    ck_book(dw_settings_set(book, "money.tax_rate", "20", message));
    int64_t job = shop_first_job(book), estimate = draft(book, job);
    add_line(book, estimate, DW_TIER_MINIMUM, DW_LINE_PART, "belt", 0, 1850, 1);
    add_line(book, estimate, DW_TIER_FULL, DW_LINE_PART, "cover", 0, 9000, 1);
    for (int i = 1; i <= 2; i++) {
        DwInvoice invoice;
        dw_record_init(&invoice.record, &dw_invoice_entity);
        ck_book(dw_invoice_draft(book, job, estimate, DW_TIER_MINIMUM, &invoice, message));
        int64_t id = invoice.record.id;
        ck_refused(dw_invoice_pay(book, id, "2026-03-02", message), "draft");
        ck_book(dw_invoice_issue(book, id, message));
        ck_book(dw_record_load(book, &invoice.record, id, message));
        ck_assert_int_eq(invoice.number, i); // without gaps
        ck_assert_str_eq(invoice.customer_name, "Ada Sample");
        ck_assert_str_eq(invoice.warranty_from, "2026-03-01");
        ck_assert_str_eq(invoice.warranty_until, "2026-05-30");
        DwTotals totals;
        ck_book(dw_invoice_totals(book, id, &totals, message));
        ck_assert_int_eq(totals.gross, 2220);
        ck_refused(dw_invoice_issue(book, id, message), "issued already");
        ck_book(dw_invoice_pay(book, id, "2026-03-02", message));
        dw_record_clear(&invoice.record);
    }
    ck_assert_int_eq(dw_query_run(book, "UPDATE invoice_line SET amount = 1", NULL), DW_BAD_INPUT);
    ck_assert_int_eq(dw_query_run(book, "UPDATE invoice SET customer_name = 'Other'", NULL), DW_BAD_INPUT);
    ck_assert_int_eq(dw_query_run(book, "DELETE FROM invoice", NULL), DW_BAD_INPUT);
    ck_refused(dw_settings_set(book, "money.digits", "0", message), "decimals");
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

static int64_t add_belt(DwBook *book, const char *number, const char *profile, const char *length, const char *width)
{
    DwStock stock;
    dw_record_init(&stock.record, &dw_stock_entity);
    ck_book(dw_record_set(book, &stock.record, "number", number, message));
    ck_book(dw_record_set(book, &stock.record, "name", "Belt", message));
    ck_book(dw_record_set(book, &stock.record, "kind", "belt", message));
    ck_book(dw_record_set(book, &stock.record, "profile", profile, message));
    ck_book(dw_record_set(book, &stock.record, "inner_length_mm", length, message));
    ck_book(dw_record_set(book, &stock.record, "width_mm", width, message));
    ck_book(dw_record_set(book, &stock.record, "price", "18.50", message));
    ck_book(dw_record_set(book, &stock.record, "least", "1", message));
    ck_book(dw_record_save(book, &stock.record, message));
    int64_t id = stock.record.id;
    dw_record_clear(&stock.record);
    return id;
}

START_TEST(belts_within_two_per_cent_fit)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t exact = add_belt(book, "B1", "flat", "600", "4");
    add_belt(book, "B2", "flat", "588", "5");   // −2 %: the span's end counts
    add_belt(book, "B3", "flat", "587.9", "5"); // just outside
    add_belt(book, "B4", "square", "600", "4");
    int64_t near = add_belt(book, "B5", "flat", "612", "5"); // +2 %
    add_belt(book, "B6", "flat", "612.1", "5");
    ck_book(dw_stock_move(book, near, 0, 3, "bought", message));
    DwBeltMatches matches;
    ck_book(dw_stock_belts(book, DW_BELT_FLAT, 600, 5, NAN, DW_BELT_TOLERANCE, &matches, message));
    ck_assert_uint_eq(matches.count, 3);
    ck_assert_str_eq(matches.matches[0].number, "B5"); // the only one on the shelf
    ck_assert_double_eq_tol(matches.matches[0].length_deviation, 0.02, 1e-12);
    ck_assert_str_eq(matches.matches[1].number, "B1");
    ck_assert_double_eq_tol(matches.matches[1].width_difference_mm, -1, 1e-12);
    ck_assert(isnan(matches.matches[1].thickness_difference_mm));
    ck_assert_str_eq(matches.matches[2].number, "B2");
    dw_belt_matches_clear(&matches);
    ck_book(dw_stock_belts(book, DW_BELT_NONE, 600, NAN, NAN, 0, &matches, message));
    ck_assert_uint_eq(matches.count, 2); // any profile, exactly that length
    dw_belt_matches_clear(&matches);
    ck_refused(dw_stock_belts(book, DW_BELT_FLAT, 0, NAN, NAN, 0.02, &matches, message), "inner length");
    DwRecords reorder;
    ck_book(dw_stock_reorder(book, &reorder, message));
    ck_assert_uint_eq(reorder.count, 5);
    dw_records_clear(&reorder);
    ck_book(dw_stock_move(book, near, 0, -2, "sold", message)); // one left, which is what it is reordered at
    ck_book(dw_stock_reorder(book, &reorder, message));
    ck_assert_uint_eq(reorder.count, 6);
    dw_records_clear(&reorder);
    (void)exact;
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(a_fitted_part_leaves_the_shelf)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book), belt = add_belt(book, "B1", "flat", "600", "5");
    DwFittedPart part;
    dw_record_init(&part.record, &dw_part_entity);
    part.job_id = job;
    part.stock_id = belt;
    ck_refused(dw_part_fit(book, &part, message), "B1: 0 on hand, not 1");
    ck_assert_int_eq(part.record.id, 0);
    dw_record_clear(&part.record);
    ck_book(dw_stock_move(book, belt, 0, 0.3, "bought", message));
    for (int i = 0; i < 3; i++) { // three tenths are gone after three tenths
        part.job_id = job;
        part.stock_id = belt;
        part.quantity = 0.1;
        ck_book(dw_part_fit(book, &part, message));
        ck_assert_str_eq(part.name, "Belt");
        ck_assert_int_eq(part.price, 1850);
        dw_record_clear(&part.record);
    }
    DwStock stock;
    dw_record_init(&stock.record, &dw_stock_entity);
    ck_book(dw_record_load(book, &stock.record, belt, message));
    ck_assert(stock.on_hand == 0);
    dw_record_clear(&stock.record);
    DwRecords moves;
    ck_book(dw_record_list(book, &dw_stock_move_entity, "stock_id", belt, &moves, message));
    ck_assert_uint_eq(moves.count, 4);
    dw_records_clear(&moves);
    ck_assert_int_eq(dw_query_run(book, "UPDATE stock_move SET change = 9", NULL), DW_BAD_INPUT);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(own_minutes_are_counted)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book);
    static const int64_t minutes[] = {20, 0, 40}; // one is not done yet
    for (size_t i = 0; i < 3; i++) {
        DwOperation operation;
        dw_record_init(&operation.record, &dw_operation_entity);
        operation.job_id = job;
        operation.name = dw_memory_text("bearing");
        operation.quoted_minutes = 25;
        operation.actual_minutes = minutes[i];
        ck_book(dw_record_save(book, &operation.record, message));
        dw_record_clear(&operation.record);
    }
    DwOperationHistory history;
    ck_book(dw_operation_history(book, "bearing", "", &history, message));
    ck_assert_int_eq(history.count, 2);
    ck_assert_double_eq_tol(history.mean_minutes, 30, 1e-12);
    ck_assert_int_eq(history.most_minutes, 40);
    ck_book(dw_operation_history(book, "bearing", "belt", &history, message)); // this deck's drive is not known
    ck_assert_int_eq(history.count, 0);
    ck_assert(isnan(history.mean_minutes));
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

DW_SUITE("money", amounts_are_read_and_rounded_exactly, days_are_those_of_the_calendar,
         estimates_come_in_versions_and_options, consent_is_logged_with_its_amount,
         an_invoice_takes_the_agreed_option_and_starts_the_warranty, belts_within_two_per_cent_fit,
         a_fitted_part_leaves_the_shelf, own_minutes_are_counted)

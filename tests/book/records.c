// SPDX-License-Identifier: MIT
#include "book/store/journal.h"
#include "book/store/private.h"
#include "book/shop/register.h"
#include "book/shop/settings.h"
#include "book/shop/stock.h"
#include "shop.h"

#include <math.h>

// Field tables and SQL tables say the same, both ways.
START_TEST(the_schema_has_the_fields_of_each_entity)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    for (size_t e = 0; dw_entity_at(e); e++) {
        const DwEntity *entity = dw_entity_at(e);
        DwQuery query = dw_query_begin(book, "SELECT name, (SELECT strict FROM pragma_table_list(?1)) FROM "
                                             "pragma_table_info(?1) WHERE name NOT IN ('id', 'revision')");
        dw_query_bind_text(&query, entity->name);
        size_t columns = 0;
        while (dw_query_step(&query)) {
            columns++;
            ck_assert_msg(dw_field_find(entity, dw_query_text(&query, 0)) != NULL, "%s.%s has no field", entity->name,
                          dw_query_text(&query, 0));
            ck_assert_int_eq(dw_query_integer(&query, 1), 1);
        }
        ck_book(dw_query_end(&query, message));
        ck_assert_msg(columns == entity->field_count, "%s: %zu columns, %zu fields", entity->name, columns,
                      entity->field_count);
    }
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

// Fills every field with a value of its kind; references point to row 1, which earlier entities have by now.
static void fill(DwBook *book, DwRecord *record)
{
    for (size_t i = 0; i < record->entity->field_count; i++) {
        const DwField *field = &record->entity->fields[i];
        void *place = (char *)record + field->offset;
        switch (field->kind) {
        case DW_FIELD_TEXT:
        case DW_FIELD_PATH:
            dw_field_replace(place, "naïve \"quoted\", line\nbreak; 'single'");
            break;
        case DW_FIELD_INTEGER:
            *(int64_t *)place = strcmp(field->key, "turn") == 0 ? 3 : INT64_C(9007199254740993);
            break;
        case DW_FIELD_REAL:
            *(double *)place = 0.1;
            break;
        case DW_FIELD_YES:
            *(bool *)place = true;
            break;
        case DW_FIELD_CHOICE:
            *(int *)place = strcmp(field->key, "state") == 0 ? 0 : 1;
            break;
        case DW_FIELD_DATE:
            dw_field_replace(place, "2024-02-29");
            break;
        case DW_FIELD_MOMENT:
            dw_field_replace(place, "2024-02-29T23:59:59Z");
            break;
        case DW_FIELD_AMOUNT:
            *(int64_t *)place = -12345;
            break;
        case DW_FIELD_RATE:
            *(int64_t *)place = 88750;
            break;
        case DW_FIELD_REFERENCE:
            *(int64_t *)place = strcmp(field->refers, record->entity->name) != 0;
            break;
        }
    }
    (void)book;
}

static void expect_same(DwBook *book, const DwRecord *a, const DwRecord *b)
{
    for (size_t i = 0; i < a->entity->field_count; i++) {
        const DwField *field = &a->entity->fields[i];
        char *left = dw_record_text(book, a, field), *right = dw_record_text(book, b, field);
        ck_assert_msg(strcmp(left, right) == 0, "%s.%s: \"%s\" came back as \"%s\"", a->entity->name, field->key, left,
                      right);
        free(left);
        free(right);
    }
}

START_TEST(each_entity_comes_back_as_it_was_saved)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    for (size_t e = 0; dw_entity_at(e); e++) {
        const DwEntity *entity = dw_entity_at(e);
        DwRecord *record = dw_memory_new(1, entity->size), *again = dw_memory_new(1, entity->size);
        dw_record_init(record, entity);
        dw_record_init(again, entity);
        fill(book, record);
        DwMessage line = {""};
        if (dw_record_keep(book, record, &line) != DW_OK)
            ck_abort_msg("%s: %s", entity->name, line.text);
        ck_assert_int_eq(record->id, 1);
        dw_book_close(book); // what comes back comes from the disk
        book = shop_open(folder);
        ck_book(dw_record_load(book, again, 1, message));
        expect_same(book, record, again);
        dw_record_clear(record);
        dw_record_clear(again);
        free(record);
        free(again);
    }
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(nothing_stays_nothing)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    DwStock stock;
    dw_record_init(&stock.record, &dw_stock_entity);
    stock.number = dw_memory_text("B-1");
    stock.name = dw_memory_text("Belt");
    ck_book(dw_record_save(book, &stock.record, message));
    int64_t id = stock.record.id;
    dw_record_clear(&stock.record);
    ck_book(dw_record_load(book, &stock.record, id, message));
    ck_assert(isnan(stock.width_mm));
    ck_assert(stock.price == DW_AMOUNT_NONE);
    ck_assert_ptr_null(stock.opened_on);
    ck_assert_str_eq(stock.shelf, "");
    dw_record_clear(&stock.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(each_change_leaves_its_old_value_in_the_journal)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    dw_book_set_now(book, "2026-03-01T10:00:00Z");
    int64_t id = shop_customer(book, "Ada Sample");
    DwCustomer customer;
    dw_record_init(&customer.record, &dw_customer_entity);
    ck_book(dw_record_load(book, &customer.record, id, message));
    ck_book(dw_record_set(book, &customer.record, "phone", "0123", message));
    ck_book(dw_record_set(book, &customer.record, "route", "telephone", message));
    ck_book(dw_record_save(book, &customer.record, message));
    dw_book_set_actor(book, "second");
    ck_book(dw_record_set(book, &customer.record, "phone", "0456", message));
    ck_book(dw_record_save(book, &customer.record, message));
    ck_book(dw_record_save(book, &customer.record, message)); // nothing changed: no line
    DwJournal journal;
    ck_book(dw_journal_read(book, "customer", id, 0, &journal, message));
    ck_assert_uint_eq(journal.count, 4);
    ck_assert_str_eq(journal.lines[0].new_value, "added");
    ck_assert_str_eq(journal.lines[1].field, "phone");
    ck_assert_str_eq(journal.lines[2].field, "route");
    ck_assert_str_eq(journal.lines[2].old_value, "not said");
    ck_assert_str_eq(journal.lines[3].old_value, "0123");
    ck_assert_str_eq(journal.lines[3].new_value, "0456");
    ck_assert_str_eq(journal.lines[3].who, "second");
    ck_assert_str_eq(journal.lines[3].at, "2026-03-01T10:00:00Z");
    dw_journal_clear(&journal);
    dw_record_clear(&customer.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(a_change_on_an_old_view_is_refused)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t id = shop_customer(book, "Ada Sample");
    DwCustomer first, second;
    dw_record_init(&first.record, &dw_customer_entity);
    dw_record_init(&second.record, &dw_customer_entity);
    ck_book(dw_record_load(book, &first.record, id, message));
    ck_book(dw_record_load(book, &second.record, id, message));
    ck_book(dw_record_set(book, &first.record, "phone", "1", message));
    ck_book(dw_record_save(book, &first.record, message));
    ck_book(dw_record_set(book, &second.record, "email", "a@b.example", message));
    ck_refused(dw_record_save(book, &second.record, message), "changed by somebody else");
    ck_book(dw_record_load(book, &second.record, id, message));
    ck_assert_str_eq(second.phone, "1");
    ck_assert_str_eq(second.email, "");
    dw_record_clear(&first.record);
    dw_record_clear(&second.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(what_is_typed_is_checked)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    DwStock stock;
    dw_record_init(&stock.record, &dw_stock_entity);
    DwRecord *record = &stock.record;
    static const struct {
        const char *key, *text, *shown; // NULL: refused
    } cases[] = {
        {"inner_length_mm", "590", "590"},
        {"inner_length_mm", "23.25 in", "590.55"},
        {"inner_length_mm", "59 cm", "590"},
        {"inner_length_mm", "590 g", NULL},
        {"inner_length_mm", "long", NULL},
        {"inner_length_mm", "", ""},
        {"kind", "belt", "belt"},
        {"kind", "rope", NULL},
        {"price", "12.5", "12.50"},
        {"price", "12,50", "12.50"},
        {"price", "12.505", NULL},
        {"price", "", ""},
        {"lead_days", "14", "14"},
        {"lead_days", "1.5", NULL},
        {"opened_on", "2024-02-29", "2024-02-29"},
        {"opened_on", "2023-02-29", NULL},
        {"opened_on", "29.2.2024", NULL},
        {"on_hand", "5", NULL}, // the book keeps it
        {"colour", "red", NULL},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        DwStatus status = dw_record_set(book, record, cases[i].key, cases[i].text, NULL);
        ck_assert_msg(status == (cases[i].shown ? DW_OK : DW_BAD_INPUT), "%s=%s", cases[i].key, cases[i].text);
        if (!cases[i].shown)
            continue;
        char *text = dw_record_text(book, record, dw_field_find(record->entity, cases[i].key));
        ck_assert_str_eq(text, cases[i].shown);
        free(text);
    }
    ck_refused(dw_record_save(book, record, message), "Stock number");
    dw_record_clear(record);
    const DwField *state = dw_field_find(&dw_job_entity, "state");
    ck_assert_int_eq(dw_field_choice(state, "waiting-for-part"), DW_JOB_WAITING_PART);
    for (int i = 0; i <= DW_JOB_DECLINED; i++) {
        char *word = dw_field_word(state, i);
        ck_assert_str_eq(word, dw_job_state_word((DwJobState)i));
        free(word);
    }
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(removing_notes_what_was_there)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t deck = shop_deck(book, "Plain", "Two", "S-1");
    ck_book(dw_deck_set_value(book, deck, "deck.speed", "45", message));
    ck_book(dw_deck_set_value(book, deck, "deck.speed", "33 1/3 rpm", message));
    ck_refused(dw_deck_set_value(book, deck, "deck.sped", "45", message), "deck.speed");
    DwInputs *inputs = dw_inputs_new();
    ck_book(dw_deck_inputs(book, deck, inputs, message));
    ck_assert_double_eq_tol(dw_inputs_in(inputs, "deck.speed", "rpm"), 100.0 / 3, 1e-9);
    dw_inputs_free(inputs);
    DwDeckValue value;
    dw_record_init(&value.record, &dw_deck_value_entity);
    ck_book(dw_record_find(book, &value.record, "key", "deck.speed", message));
    ck_book(dw_record_remove(book, &value.record, message));
    DwJournal journal;
    ck_book(dw_journal_read(book, "deck_value", 0, 1, &journal, message));
    ck_assert_str_eq(journal.lines[0].old_value, "33 1/3 rpm");
    dw_journal_clear(&journal);
    dw_record_clear(&value.record);
    // A customer with a deck is not removed: others refer to it.
    int64_t owner = shop_customer(book, "Ada Sample"), found = 0;
    ck_book(dw_deck_give(book, deck, owner, message));
    DwCustomer customer;
    dw_record_init(&customer.record, &dw_customer_entity);
    customer.record.id = owner;
    ck_refused(dw_record_remove(book, &customer.record, message), "refers");
    ck_book(dw_deck_owner(book, deck, &found, message));
    ck_assert_int_eq(found, owner);
    dw_record_clear(&customer.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(settings_are_checked_and_kept)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    ck_assert_int_eq(dw_settings_integer(book, "estimate.valid_days"), 30);
    ck_book(dw_settings_set(book, "money.labour_rate", "60", message));
    ck_book(dw_settings_set(book, "money.tax_rate", "8.875", message));
    ck_refused(dw_settings_set(book, "money.tax_rate", "120", message), "100 %");
    ck_refused(dw_settings_set(book, "money.rate", "1", message), "money.labour_rate");
    ck_assert_int_eq(dw_settings_amount(book, "money.labour_rate"), 6000);
    ck_assert_int_eq(dw_settings_rate(book, "money.tax_rate"), 88750);
    DwJournal journal;
    ck_book(dw_journal_read(book, "setting", 0, 0, &journal, message));
    ck_assert_uint_eq(journal.count, 2);
    ck_assert_str_eq(journal.lines[1].old_value, "0");
    dw_journal_clear(&journal);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(a_checked_clock_stands_on_its_chain_with_the_day)
{
    char *folder = shop_folder(), today[DW_DATE_SIZE];
    DwBook *book = shop_open(folder);
    DwChain chain;
    dw_record_init(&chain.record, &dw_chain_entity);
    chain.name = dw_memory_text("bench");
    ck_book(dw_record_save(book, &chain.record, message));
    int64_t id = chain.record.id;
    ck_book(dw_chain_check_clock(book, id, -37.254, message));
    ck_refused(dw_chain_check_clock(book, id + 1, 12, message), "chain");
    ck_book(dw_record_load(book, &chain.record, id, message));
    ck_assert_double_eq_tol(chain.clock_error, -37.25, 1e-9);
    dw_book_today(book, today);
    ck_assert_str_eq(chain.checked_on, today);
    dw_record_clear(&chain.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

DW_SUITE("records", a_checked_clock_stands_on_its_chain_with_the_day, the_schema_has_the_fields_of_each_entity,
         each_entity_comes_back_as_it_was_saved, nothing_stays_nothing, each_change_leaves_its_old_value_in_the_journal,
         a_change_on_an_old_view_is_refused, what_is_typed_is_checked, removing_notes_what_was_there,
         settings_are_checked_and_kept)

// SPDX-License-Identifier: MIT
// customer, deck and stock: one command each over the same verbs.
#include "base/arm_key.h"
#include "base/memory.h"
#include "base/text.h"
#include "book/entry/entry.h"
#include "book/shop/customer.h"
#include "book/shop/deck.h"
#include "book/shop/stock.h"
#include "cli/book_call.h"
#include "cli/tell.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static DwStatus add_customer(DwBookCall *call, DwMessage *message)
{
    DwCustomer customer;
    dw_record_init(&customer.record, &dw_customer_entity);
    return dw_book_call_write(call, &customer.record, NULL, message);
}

static DwStatus show_customer(DwBookCall *call, DwMessage *message)
{
    DwCustomer customer;
    dw_record_init(&customer.record, &dw_customer_entity);
    return dw_book_call_write(call, &customer.record, call->words[0], message);
}

static DwStatus list_customers(DwBookCall *call, DwMessage *message)
{
    static const char *const columns[] = {"name", "phone", "email", NULL};
    return dw_book_call_list(call, &dw_customer_entity, columns, message);
}

static DwStatus customer_fields(DwBookCall *call, DwMessage *message)
{
    (void)call;
    (void)message;
    dw_book_call_print_fields(&dw_customer_entity);
    return DW_OK;
}

static const DwVerb *customer_verbs(void)
{
    static const DwVerb verbs[] = {
        {"add", "key=value …", "Add a customer.", 0, 0, add_customer, .operands = true, .json = true},
        {"show", "NUMBER [key=value …]", "Show a customer, or change what is given.", 1, 1, show_customer,
         .operands = true, .json = true},
        {"list", "", "List all customers.", 0, 0, list_customers, .json = true},
        {"fields", "", "List the keys that can be given.", 0, 0, customer_fields, .makes = true},
        {NULL},
    };
    return verbs;
}

static DwStatus add_deck(DwBookCall *call, DwMessage *message)
{
    DwDeck deck;
    dw_record_init(&deck.record, &dw_deck_entity);
    DwStatus status = dw_book_call_set(call, &deck.record, message);
    if (status == DW_OK)
        status = dw_entry_add(call->book, &deck.record, message);
    if (status == DW_OK)
        dw_book_call_print(call, &deck.record);
    if (status == DW_OK)
        status = dw_book_call_print_twins(call, &deck.record, message);
    if (status == DW_OK && !call->json)
        status = dw_book_call_offer_model(call, deck.record.id, message);
    dw_record_clear(&deck.record);
    return status;
}

static DwStatus show_deck(DwBookCall *call, DwMessage *message)
{
    DwDeck deck;
    dw_record_init(&deck.record, &dw_deck_entity);
    return dw_book_call_write(call, &deck.record, call->words[0], message);
}

static DwStatus list_decks(DwBookCall *call, DwMessage *message)
{
    static const char *const columns[] = {"make", "model", "serial", NULL};
    return dw_book_call_list(call, &dw_deck_entity, columns, message);
}

static DwStatus give_deck(DwBookCall *call, DwMessage *message)
{
    int64_t deck = 0, customer = 0;
    DwStatus status = dw_book_call_number(call->words[0], &deck, message);
    if (status == DW_OK)
        status = dw_book_call_number(call->words[1], &customer, message);
    if (status == DW_OK)
        status = dw_deck_give(call->book, deck, customer, message);
    if (status == DW_OK)
        dw_tell(stdout, "Deck id %lld belongs to customer id %lld from today.\n", (long long)deck, (long long)customer);
    return status;
}

// The name of the arm that the operands of CALL are of, "" without one.
static const char *arm_of(const DwBookCall *call)
{
    const char *arm = "";
    for (size_t i = 0; i < call->operand_count; i++)
        if (strncmp(call->operands[i], "arm.name=", strlen("arm.name=")) == 0)
            arm = call->operands[i] + strlen("arm.name=");
    return arm;
}

// Notes one operand of CALL, under the name ARM.
static DwStatus note_one(DwBookCall *call, int64_t deck, const char *operand, const char *arm, DwMessage *message)
{
    size_t length = strcspn(operand, "=");
    char *key = dw_text_format("%.*s", (int)length, operand);
    char *named = strchr(key, '@') ? dw_memory_text(key) : dw_arm_key_join(key, arm);
    DwStatus status = dw_deck_set_value(call->book, deck, named, operand + length + 1, message);
    free(named);
    free(key);
    return status;
}

// Notes quantities of the catalogue: `deck note 3 arm.effective_length=230mm`; those of one of several arms with its
// name: `deck note 3 arm.name=rear arm.effective_length=305mm`.
static DwStatus note_deck(DwBookCall *call, DwMessage *message)
{
    int64_t deck = 0;
    DwStatus status = dw_book_call_number(call->words[0], &deck, message);
    const char *arm = arm_of(call);
    if (status == DW_OK && *arm)
        status = dw_arm_key_check_name(arm, message);
    for (size_t i = 0; i < call->operand_count && status == DW_OK; i++)
        if (!*arm || call->operand_count == 1 || strncmp(call->operands[i], "arm.name=", strlen("arm.name=")) != 0)
            status = note_one(call, deck, call->operands[i], arm, message);
    DwRecords values;
    if (status == DW_OK)
        status = dw_record_list(call->book, &dw_deck_value_entity, "deck_id", deck, &values, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < values.count; i++) {
        const DwDeckValue *value = (const DwDeckValue *)dw_records_at(&values, i);
        printf("%s = %s\n", value->key, value->value);
    }
    if (!values.count)
        dw_tell(stdout, "Nothing is noted of deck id %lld.\n", (long long)deck);
    dw_records_clear(&values);
    return DW_OK;
}

static DwStatus deck_fields(DwBookCall *call, DwMessage *message)
{
    (void)call;
    (void)message;
    dw_book_call_print_fields(&dw_deck_entity);
    return DW_OK;
}

static const DwVerb *deck_verbs(void)
{
    static const DwVerb verbs[] = {
        {"add", "key=value …", "Add a deck.", 0, 0, add_deck, .operands = true, .json = true},
        {"show", "NUMBER [key=value …]", "Show a deck, or change what is given.", 1, 1, show_deck, .operands = true,
         .json = true},
        {"list", "", "List all decks.", 0, 0, list_decks, .json = true},
        {"give", "NUMBER CUSTOMER", "Note that the customer owns the deck from today.", 2, 2, give_deck},
        {"note", "NUMBER [key=value …]", "Note quantities of the catalogue, and list what is noted.", 1, 1, note_deck,
         .operands = true},
        {"fields", "", "List the keys that can be given.", 0, 0, deck_fields, .makes = true},
        {NULL},
    };
    return verbs;
}

static DwStatus add_stock(DwBookCall *call, DwMessage *message)
{
    DwStock stock;
    dw_record_init(&stock.record, &dw_stock_entity);
    return dw_book_call_write(call, &stock.record, NULL, message);
}

static DwStatus find_stock(DwBookCall *call, DwStock *stock, DwMessage *message)
{
    dw_record_init(&stock->record, &dw_stock_entity);
    return dw_record_find(call->book, &stock->record, "number", call->words[0], message);
}

static DwStatus show_stock(DwBookCall *call, DwMessage *message)
{
    DwStock stock;
    DwStatus status = find_stock(call, &stock, message);
    if (status == DW_OK)
        status = dw_book_call_set(call, &stock.record, message);
    if (status == DW_OK && call->operand_count)
        status = dw_record_save(call->book, &stock.record, message);
    if (status == DW_OK)
        dw_book_call_print(call, &stock.record);
    dw_record_clear(&stock.record);
    return status;
}

static DwStatus list_stock(DwBookCall *call, DwMessage *message)
{
    static const char *const columns[] = {"number", "name", "on_hand", "unit", "shelf", NULL};
    return dw_book_call_list(call, &dw_stock_entity, columns, message);
}

static DwStatus move_stock(DwBookCall *call, DwMessage *message)
{
    DwStock stock;
    double change = 0;
    if (dw_text_number_clear(NULL, call->words[1], message) != DW_OK)
        return DW_BAD_INPUT;
    const char *end = dw_text_number(call->words[1], &change);
    if (!end || *end || !isfinite(change) || change == 0)
        return dw_fail(message, DW_BAD_INPUT, "\"%s\" is no quantity to add, or with - to take away.", call->words[1]);
    DwStatus status = find_stock(call, &stock, message);
    if (status == DW_OK)
        status =
            dw_stock_move(call->book, stock.record.id, 0, change, call->word_count > 2 ? call->words[2] : "", message);
    if (status == DW_OK)
        status = dw_record_load(call->book, &stock.record, stock.record.id, message);
    if (status == DW_OK)
        dw_tell(stdout, "%s: %g on hand.\n", stock.number, stock.on_hand);
    dw_record_clear(&stock.record);
    return status;
}

// A length operand of a belt in mm; NAN when it was not given.
static DwStatus belt_length(DwBookCall *call, DwStock *wanted, const char *key, DwMessage *message)
{
    const char *text = dw_book_call_operand(call, key);
    return text ? dw_record_set(call->book, &wanted->record, key, text, message) : DW_OK;
}

static DwStatus find_belts(DwBookCall *call, DwMessage *message)
{
    static const char *const keys[] = {"inner_length_mm", "width_mm", "thickness_mm", "profile", NULL};
    DwStock wanted;
    DwBeltMatches matches = {0};
    dw_record_init(&wanted.record, &dw_stock_entity);
    DwStatus status = dw_book_call_only(call, keys, message);
    for (size_t i = 0; keys[i] && status == DW_OK; i++)
        status = belt_length(call, &wanted, keys[i], message);
    if (status == DW_OK)
        status = dw_stock_belts(call->book, (DwBeltProfile)wanted.profile, wanted.inner_length_mm, wanted.width_mm,
                                wanted.thickness_mm, DW_BELT_TOLERANCE, &matches, message);
    for (size_t i = 0; i < matches.count; i++) {
        const DwBeltMatch *match = &matches.matches[i];
        dw_tell(stdout, "%s  %s  on hand %g  length %+.2f %%", match->number, match->name, match->on_hand,
                100 * match->length_deviation);
        if (isfinite(match->width_difference_mm))
            dw_tell(stdout, "  width %+.2f mm", match->width_difference_mm);
        if (isfinite(match->thickness_difference_mm))
            dw_tell(stdout, "  thickness %+.2f mm", match->thickness_difference_mm);
        printf("%s%s\n", *match->shelf ? dw_said("  shelf ") : "", match->shelf);
    }
    if (status == DW_OK && matches.count == 0)
        dw_tell(stdout, "No belt in the book is within 2 %% of that length.\n");
    dw_belt_matches_clear(&matches);
    dw_record_clear(&wanted.record);
    return status;
}

static DwStatus stock_fields(DwBookCall *call, DwMessage *message)
{
    (void)call;
    (void)message;
    dw_book_call_print_fields(&dw_stock_entity);
    return DW_OK;
}

static const DwVerb *stock_verbs(void)
{
    static const DwVerb verbs[] = {
        {"add", "key=value …", "Add an item.", 0, 0, add_stock, .operands = true, .json = true},
        {"show", "ITEM [key=value …]", "Show an item by its own number, or change what is given.", 1, 1, show_stock,
         .operands = true, .json = true},
        {"list", "", "List all items.", 0, 0, list_stock, .json = true},
        {"move", "ITEM QUANTITY [WHY]", "Add to what is on hand, or take away with a minus sign.", 2, 3, move_stock},
        {"belts", "inner_length_mm=… [width_mm=…] [thickness_mm=…] [profile=…]", "Find belts within 2 % of the length.",
         0, 0, find_belts, .operands = true},
        {"fields", "", "List the keys that can be given.", 0, 0, stock_fields, .makes = true},
        {NULL},
    };
    return verbs;
}

const DwCommand dw_command_customer = {"customer", "customer VERB …", "Keep customers in the job book.",
                                       .verbs = customer_verbs, .own = &dw_customer_entity};
const DwCommand dw_command_deck = {"deck", "deck VERB …", "Keep decks by serial, with owners and known quantities.",
                                   .verbs = deck_verbs, .own = &dw_deck_entity};
const DwCommand dw_command_stock = {"stock", "stock VERB …", "Keep parts and belts by dimension.", .verbs = stock_verbs,
                                    .own = &dw_stock_entity};

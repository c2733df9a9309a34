// SPDX-License-Identifier: MIT
// The parts of a work plan held against the shop's stock: what lies on the shelf, and what must be ordered.
#include "base/memory.h"
#include "base/text.h"
#include "book/shop/deck.h"
#include "book/shop/stock.h"
#include "procedure/job/job_guide.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum { NAMED_MOST = 3 };

typedef struct {
    DwBook *book;
    DwRecords stock;
    char *model;    // of the deck; "" while unknown
    double belt_mm; // length of its belt; NAN while unknown
} Shelf;

// The length of the belt that DECK is noted to want; NAN for none.
static DwStatus belt_of(DwBook *book, int64_t deck, double *length_mm, DwMessage *message)
{
    static const char *const keys[] = {"drive.belt_listed_length", "drive.belt_length"};
    DwRecords values;
    *length_mm = NAN;
    DwStatus status = dw_record_list(book, &dw_deck_value_entity, "deck_id", deck, &values, message);
    if (status != DW_OK)
        return status;
    DwInputs *inputs = dw_inputs_new();
    for (size_t i = 0; i < values.count; i++) {
        const DwDeckValue *value = (const DwDeckValue *)dw_records_at(&values, i);
        if (strcmp(value->key, keys[0]) == 0 || strcmp(value->key, keys[1]) == 0)
            dw_inputs_set(inputs, value->key, value->value, NULL);
    }
    if (dw_inputs_given(inputs, keys[0]))
        *length_mm = dw_inputs_in(inputs, "drive.belt_listed_length", "mm");
    else if (dw_inputs_given(inputs, keys[1]))
        *length_mm = dw_inputs_in(inputs, "drive.belt_length", "mm");
    dw_inputs_free(inputs);
    dw_records_clear(&values);
    return DW_OK;
}

static DwStatus shelf_init(DwBook *book, const DwJob *job, Shelf *shelf, DwMessage *message)
{
    DwDeck deck;
    *shelf = (Shelf){.book = book, .stock = {.entity = &dw_stock_entity}, .belt_mm = NAN};
    dw_record_init(&deck.record, &dw_deck_entity);
    DwStatus status = job->deck_id ? dw_record_load(book, &deck.record, job->deck_id, message) : DW_OK;
    shelf->model = dw_memory_text(deck.model ? deck.model : "");
    dw_record_clear(&deck.record);
    if (status == DW_OK && job->deck_id)
        status = belt_of(book, job->deck_id, &shelf->belt_mm, message);
    return status == DW_OK ? dw_record_list(book, &dw_stock_entity, NULL, 0, &shelf->stock, message) : status;
}

static void shelf_clear(Shelf *shelf)
{
    dw_records_clear(&shelf->stock);
    free(shelf->model);
}

static bool is_of_kind(const DwStock *stock, const char *kind)
{
    return stock->kind == dw_field_choice(dw_field_find(&dw_stock_entity, "kind"), kind);
}

// Whether STOCK is known to fit the deck: a belt by its length, all else by the model in its name or its notes.
static bool is_known_to_fit(const Shelf *shelf, const DwStock *stock)
{
    if (stock->kind == DW_STOCK_BELT && isfinite(shelf->belt_mm) && isfinite(stock->inner_length_mm))
        return fabs(stock->inner_length_mm / shelf->belt_mm - 1) <= DW_BELT_TOLERANCE;
    return *shelf->model && ((stock->fits && strcasestr(stock->fits, shelf->model)) ||
                             (stock->name && strcasestr(stock->name, shelf->model)));
}

// "B-480 Belt 480 mm (A2, 3)": its shelf and how many; of what is not there "(Supplier, 5 d)".
static void name_stock(const DwStock *stock, DwText *text)
{
    bool here = stock->on_hand > 0;
    const char *place = here ? stock->shelf : stock->supplier;
    double count = here ? stock->on_hand : (double)stock->lead_days;
    bool placed = place && *place;
    dw_text_add(text, "%s%s%s%s", text->length ? "; " : "", stock->number ? stock->number : "",
                stock->number && stock->name ? " " : "", stock->name ? stock->name : "");
    if (placed || count > 0)
        dw_text_add(text, " (%s%s", placed ? place : "", placed && count > 0 ? ", " : "");
    if (count > 0)
        dw_text_add(text, "%g%s", count, here ? "" : " d");
    if (placed || count > 0)
        dw_text_add(text, ")");
}

// The stock of KIND that is on hand (else is not), that FITS or may; up to NAMED_MOST by name. Returned: how many.
static size_t find(const Shelf *shelf, const char *kind, bool on_hand, bool fits, DwText *names)
{
    size_t count = 0;
    for (size_t i = 0; i < shelf->stock.count; i++) {
        const DwStock *stock = (const DwStock *)dw_records_at(&shelf->stock, i);
        if (!is_of_kind(stock, kind) || (stock->on_hand > 0) != on_hand || is_known_to_fit(shelf, stock) != fits)
            continue;
        if (count++ < NAMED_MOST)
            name_stock(stock, names);
    }
    return count;
}

// Of a belt whose length is known no other length is offered.
static bool may_be_looked_for(const Shelf *shelf, const char *kind)
{
    return !(strcmp(kind, "belt") == 0 && isfinite(shelf->belt_mm));
}

// Where a part of KIND comes from, and what of it by name, which the caller frees.
static const char *source_of(const Shelf *shelf, const char *kind, char **which)
{
    DwText names = {0};
    const char *source = "to be ordered";
    if (find(shelf, kind, true, true, &names))
        source = "on the shelf";
    else if (find(shelf, kind, false, true, &names))
        source = "to be ordered";
    else if (may_be_looked_for(shelf, kind) && find(shelf, kind, true, false, &names))
        source = "look whether one on the shelf fits";
    dw_text_add(&names, "%s", "");
    *which = dw_text_take(&names);
    return source;
}

// The INDEXth of LIST, which semicolons part; "" past the last. The caller frees it.
static char *item_of(const char *list, size_t index)
{
    const char *at = list ? list : "";
    for (; index && *at; at++)
        index -= *at == ';';
    at += strspn(at, " ");
    return dw_text_format("%.*s", (int)strcspn(at, ";"), at);
}

static void add_parts(const Shelf *shelf, const DwGuideRemedy *remedy, DwTable *table)
{
    for (size_t i = 0;; i++) {
        char *part = item_of(remedy->parts, i), *kind = item_of(remedy->stock, i), *which = NULL;
        bool any = *part;
        if (any) {
            const char *source = source_of(shelf, *kind ? kind : "other", &which);
            size_t row = dw_table_add_row(table);
            dw_table_set_word(table, row, 0, part);
            dw_table_set_word(table, row, 1, remedy->name);
            dw_table_set_word(table, row, 2, source);
            dw_table_set_word(table, row, 3, which);
        }
        free(part);
        free(kind);
        free(which);
        if (!any)
            return;
    }
}

DwStatus dw_job_guide_parts(DwBook *book, const DwJob *job, const DwGuideKnowledge *knowledge,
                            const DwGuideWorks *works, DwSheet *sheet, DwMessage *message)
{
    static const char *const columns[] = {"part|Part||0", "for|For||0", "from|From||0", "which|In the stock||0", NULL};
    Shelf shelf;
    bool any = false;
    for (size_t i = 0; i < works->count; i++)
        any |= knowledge->remedies[works->works[i].remedy].parts != NULL;
    if (!any)
        return DW_OK;
    DwStatus status = shelf_init(book, job, &shelf, message);
    DwTable *table = status == DW_OK
                         ? dw_sheet_add_table(sheet, "guide.parts", "Parts, from the shelf or to be ordered", columns)
                         : NULL;
    for (size_t i = 0; table && i < works->count; i++)
        add_parts(&shelf, &knowledge->remedies[works->works[i].remedy], table);
    shelf_clear(&shelf);
    return status;
}

// SPDX-License-Identifier: MIT
#include "book/entry/search.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/shop/arm.h"
#include "book/shop/cartridge.h"
#include "book/shop/customer.h"
#include "book/shop/deck.h"
#include "book/job/job.h"
#include "book/model/model.h"
#include "book/store/private.h"
#include "book/shop/stock.h"

#include <stdlib.h>
#include <string.h>

// In the order of the entities' places in the index (schema_2.c, schema_6.c): what a hit is called.
static const struct {
    const DwEntity *entity;
    const char *title_and_detail; // SQL of two columns for the row ?1
} kinds[] = {
    {&dw_customer_entity, "SELECT name, phone FROM customer WHERE id = ?1"},
    {&dw_deck_entity, "SELECT trim(make || ' ' || model || ' ' || variant), serial FROM deck WHERE id = ?1"},
    {&dw_arm_entity, "SELECT trim(make || ' ' || model), serial FROM arm WHERE id = ?1"},
    {&dw_cartridge_entity, "SELECT trim(make || ' ' || model), serial FROM cartridge WHERE id = ?1"},
    {&dw_job_entity, "SELECT format('%04d', number), customer.name || ', ' || state FROM job "
                     "JOIN customer ON customer.id = customer_id WHERE job.id = ?1"},
    {&dw_stock_entity, "SELECT number, name FROM stock WHERE id = ?1"},
    {&dw_model_entity, "SELECT make || ' ' || name, drive FROM model WHERE id = ?1"},
};

// Each word of WORDS as a quoted beginning: "mül"* "0042"*. NULL when there is none.
static char *match_of(const char *words)
{
    DwText match = {0};
    while (*words) {
        size_t length = strcspn(words, " \t\n");
        if (length) {
            dw_text_add(&match, "%s\"", match.length ? " " : "");
            for (size_t i = 0; i < length; i++)
                dw_text_add(&match, words[i] == '"' ? "%c\"" : "%c", words[i]);
            dw_text_add(&match, "\"*");
        }
        words += length;
        words += strspn(words, " \t\n");
    }
    return match.chars ? dw_text_take(&match) : NULL;
}

static DwStatus describe(DwBook *book, DwHit *hit, size_t kind, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, kinds[kind].title_and_detail);
    dw_query_bind_integer(&query, hit->id);
    bool there = dw_query_step(&query);
    hit->title = dw_memory_text(there ? dw_query_text(&query, 0) : "");
    hit->detail = dw_memory_text(there ? dw_query_text(&query, 1) : "");
    return dw_query_end(&query, message);
}

static DwStatus run(DwBook *book, const char *match, size_t most, DwHits *hits, DwMessage *message)
{
    // The rowid tells row and entity apart: jobs, customers, decks, then the rest.
    DwQuery query = dw_query_begin(book, "SELECT rowid / 8, rowid % 8 FROM search WHERE search MATCH ?1 ORDER BY "
                                         "CASE rowid % 8 WHEN 4 THEN 0 ELSE 1 + rowid % 8 END, rowid DESC LIMIT ?2");
    dw_query_bind_text(&query, match);
    dw_query_bind_integer(&query, (int64_t)most);
    DwStatus status = DW_OK;
    while (status == DW_OK && dw_query_step(&query)) {
        size_t kind = (size_t)dw_query_integer(&query, 1);
        if (kind >= sizeof kinds / sizeof *kinds)
            continue;
        hits->hits = dw_memory_resize(hits->hits, hits->count + 1, sizeof *hits->hits);
        DwHit *hit = &hits->hits[hits->count++];
        *hit = (DwHit){.entity = kinds[kind].entity, .id = dw_query_integer(&query, 0)};
        status = describe(book, hit, kind, message);
    }
    DwStatus ended = dw_query_end(&query, message);
    return status == DW_OK ? ended : status;
}

DwStatus dw_search_words(DwBook *book, const char *words, size_t most, DwHits *hits, DwMessage *message)
{
    char *match = match_of(words);
    DwHits found = {0};
    DwStatus status = match ? run(book, match, most, &found, message) : DW_OK;
    free(match);
    if (status == DW_OK)
        *hits = found;
    else
        dw_hits_clear(&found);
    return status;
}

void dw_hits_clear(DwHits *hits)
{
    for (size_t i = 0; i < hits->count; i++) {
        free(hits->hits[i].title);
        free(hits->hits[i].detail);
    }
    free(hits->hits);
    *hits = (DwHits){0};
}

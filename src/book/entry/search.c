// SPDX-License-Identifier: MIT
#include "book/entry/search.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/shop/arm.h"
#include "book/shop/cartridge.h"
#include "book/shop/customer.h"
#include "book/shop/deck.h"
#include "book/job/finding.h"
#include "book/job/intake.h"
#include "book/job/job.h"
#include "book/model/model.h"
#include "book/money/invoice.h"
#include "book/store/private.h"
#include "book/shop/stock.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

// In the order of the entities' places in the index (schema_2.c, schema_6.c, schema_7.c): what a hit is called, and
// whose job it is.
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
    {&dw_intake_entity,
     "SELECT format('%04d', number), 'the owner: ' || words, job.id FROM intake JOIN job ON job.id = job_id "
     "WHERE intake.id = ?1"},
    {&dw_finding_entity,
     "SELECT format('%04d', number), 'finding: ' || symptom || ', ' || cause, job.id FROM finding JOIN "
     "job ON job.id = job_id WHERE finding.id = ?1"},
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

// What was written of a job is a hit of the job.
static DwStatus describe(DwBook *book, DwHit *hit, size_t kind, DwMessage *message)
{
    enum { DETAIL_MOST = 100 };
    DwQuery query = dw_query_begin(book, kinds[kind].title_and_detail);
    dw_query_bind_integer(&query, hit->id);
    bool there = dw_query_step(&query);
    const char *detail = there ? dw_query_text(&query, 1) : "";
    hit->title = dw_memory_text(there ? dw_query_text(&query, 0) : "");
    hit->detail = dw_text_format("%.*s", dw_text_whole(detail, DETAIL_MOST), detail);
    for (char *at = hit->detail; (at = strpbrk(at, "\r\n")); at++)
        *at = ' ';
    if (there && (hit->entity == &dw_intake_entity || hit->entity == &dw_finding_entity)) {
        hit->entity = &dw_job_entity;
        hit->id = dw_query_integer(&query, 2);
    }
    return dw_query_end(&query, message);
}

// Takes the last hit out again when it is one that stands there already.
static void drop_double(DwHits *hits)
{
    DwHit *last = &hits->hits[hits->count - 1];
    for (size_t i = 0; i + 1 < hits->count; i++)
        if (hits->hits[i].entity == last->entity && hits->hits[i].id == last->id) {
            free(last->title);
            free(last->detail);
            hits->count--;
            return;
        }
}

// One hit more of the kind KIND, described, unless it stands there.
static DwStatus add_hit(DwBook *book, size_t kind, int64_t id, DwHits *hits, DwMessage *message)
{
    hits->hits = dw_memory_resize(hits->hits, hits->count + 1, sizeof *hits->hits);
    DwHit *hit = &hits->hits[hits->count++];
    *hit = (DwHit){.entity = kinds[kind].entity, .id = id};
    DwStatus status = describe(book, hit, kind, message);
    drop_double(hits);
    return status;
}

static DwStatus run(DwBook *book, const char *match, size_t most, DwHits *hits, DwMessage *message)
{
    // The rowid tells row and entity apart (below 0 it is what was written of a job): jobs and what was written of
    // them, customers, decks, then the rest.
    DwQuery query = dw_query_begin(
        book, "SELECT id, kind FROM (SELECT iif(rowid < 0, -rowid / 2, rowid / 8) AS id, "
              "iif(rowid < 0, 7 + -rowid % 2, rowid % 8) AS kind FROM search WHERE search MATCH ?1) ORDER BY CASE kind "
              "WHEN 4 THEN 0 WHEN 7 THEN 1 WHEN 8 THEN 2 ELSE 3 + kind END, id DESC LIMIT ?2");
    dw_query_bind_text(&query, match);
    dw_query_bind_integer(&query, (int64_t)most);
    DwStatus status = DW_OK;
    while (status == DW_OK && dw_query_step(&query)) {
        size_t kind = (size_t)dw_query_integer(&query, 1);
        if (kind >= sizeof kinds / sizeof *kinds)
            continue;
        status = add_hit(book, kind, dw_query_integer(&query, 0), hits, message);
    }
    DwStatus ended = dw_query_end(&query, message);
    return status == DW_OK ? ended : status;
}

static const char ten_figures[] = "0123456789";

static bool has_figure(const char *word)
{
    return word[strcspn(word, ten_figures)] != '\0';
}

// How many letters of a word may be wrong: none of a short one, which is like too many others, and one of a number,
// which always is.
static size_t errors_of(const char *word)
{
    enum { SHORT = 4, LONG = 6 };
    size_t length = strlen(word);
    return length < SHORT ? 0 : length < LONG || has_figure(word) ? 1 : 2;
}

// A word of the book and the one that was typed, as far as that goes.
static size_t distance(const char *typed, const char *term)
{
    size_t whole = dw_text_distance(typed, term);
    char *beginning = dw_text_format("%.*s", dw_text_whole(term, strlen(typed)), term);
    size_t begun = dw_text_distance(typed, beginning);
    free(beginning);
    return begun < whole ? begun : whole;
}

// How many letters of TYPED do not stand in TERM: no fewer are wrong. 0 where other letters than ASCII's do not let it
// be counted byte by byte.
static size_t missing_letters(const char *typed, const char *term)
{
    unsigned char stand[128] = {0};
    size_t missing = 0;
    for (const unsigned char *at = (const unsigned char *)term; *at; at++) {
        if (*at > 127)
            return 0;
        stand[*at] += stand[*at] < 255;
    }
    for (const unsigned char *at = (const unsigned char *)typed; *at; at++) {
        if (*at > 127)
            return 0;
        if (stand[*at])
            stand[*at]--;
        else
            missing++;
    }
    return missing;
}

// The word of the book that is most like the one typed, so far.
typedef struct {
    const char *typed;
    size_t least; // letters that are wrong in it; what is to be stayed below while none is found
    int64_t most; // documents that it stands in; INT64_MAX while none is found
    char *best;
} Nearest;

// Whether what begins as TERM does is a number, and what was typed is a word: it is not a number misspelt, and numbers
// are most words of a large book.
static bool is_number_for_word(const Nearest *nearest, const char *term)
{
    return *term && strchr(ten_figures, *term) && !has_figure(nearest->typed);
}

static void consider(Nearest *nearest, const char *term, int64_t often)
{
    size_t wanted =
        often > nearest->most ? nearest->least + 1 : nearest->least; // of what is as like, the more frequent
    if (is_number_for_word(nearest, term) || missing_letters(nearest->typed, term) >= wanted)
        return;
    size_t apart = distance(nearest->typed, term);
    if (apart >= wanted)
        return;
    nearest->least = apart;
    nearest->most = often;
    dw_field_replace(&nearest->best, term);
}

// Whether no word that begins with the LENGTH bytes of BEGINNING, ASCII, can be near enough: as far as any beginning of
// the typed word is from it, so far at least is the whole.
static bool is_hopeless(const Nearest *nearest, const char *beginning, size_t length)
{
    size_t reach = nearest->most == INT64_MAX ? nearest->least - 1 : nearest->least, typed = strlen(nearest->typed);
    if (is_number_for_word(nearest, beginning))
        return true;
    char *part = dw_text_format("%.*s", (int)length, beginning);
    bool hopeless = true;
    for (size_t j = length > reach ? length - reach : 0; hopeless && j <= typed && j <= length + reach; j++) {
        char *begun = dw_text_format("%.*s", (int)j, nearest->typed);
        hopeless = dw_text_distance(begun, part) > reach;
        free(begun);
    }
    free(part);
    return hopeless;
}

// How many words are read one by one before it is asked whether to go on so; going to a place costs as much as MOST.
enum { LEAST_PACE = 8, MOST_PACE = 64 };

// Where EARLIER and TERM, some words later, begin alike and no word that begins so can be near enough: the place in the
// alphabet after all of those, for the caller to free with free(). Else NULL.
static char *place_beyond(const Nearest *nearest, const char *earlier, const char *term)
{
    size_t longest = strlen(nearest->typed);
    for (size_t length = 1; length <= longest; length++) {
        unsigned char last = (unsigned char)term[length - 1];
        if (!last || last > 126 || earlier[length - 1] != term[length - 1])
            return NULL;
        if (!is_hopeless(nearest, term, length))
            continue;
        char *beyond = dw_text_format("%.*s", (int)length, term);
        beyond[length - 1]++;
        return beyond;
    }
    return NULL;
}

// Goes to the PLACE in the alphabet, which becomes the query's own.
static void leap(DwQuery *query, char **stands, char *place)
{
    dw_query_again(query);
    free(*stands);
    *stands = place;
    dw_query_bind_text(query, place);
}

// Considers the words of the book by the alphabet, and leaps over those that cannot be near.
static DwStatus consider_all(DwBook *book, Nearest *nearest, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT term, doc FROM temp.search_word WHERE term >= ?");
    char *place = dw_memory_text(""), *earlier = dw_memory_text("");
    dw_query_bind_text(&query, place);
    int pace = LEAST_PACE;
    for (int read = 0; dw_query_step(&query); read++) { // since EARLIER
        const char *term = dw_query_text(&query, 0);
        consider(nearest, term, dw_query_integer(&query, 1));
        if (read > 0 && read < pace)
            continue;
        char *beyond = read > 0 ? place_beyond(nearest, earlier, term) : NULL;
        if (read > 0)
            pace = beyond ? LEAST_PACE : pace < MOST_PACE ? 2 * pace : MOST_PACE;
        dw_field_replace(&earlier, term);
        read = 0;
        if (beyond) {
            leap(&query, &place, beyond);
            read = -1; // what is read next is the first there
        }
    }
    DwStatus status = dw_query_end(&query, message);
    free(place);
    free(earlier);
    return status;
}

// The word of the book that is most like WORD, of several the most frequent; WORD itself where none is like it. The
// caller frees it with free().
static DwStatus find_nearest(DwBook *book, const char *word, char **found, DwMessage *message)
{
    char *typed = dw_memory_text(word);
    for (char *at = typed; *at; at++)
        *at = *at >= 'A' && *at <= 'Z' ? (char)(*at - 'A' + 'a') : *at;
    Nearest nearest = {typed, errors_of(typed) + 1, INT64_MAX, dw_memory_text(word)};
    DwStatus status = consider_all(book, &nearest, message);
    free(typed);
    if (status == DW_OK)
        *found = nearest.best;
    else
        free(nearest.best);
    return status;
}

// WORDS with each replaced by the one of the book that is most like it. The caller frees it with free().
static DwStatus correct(DwBook *book, const char *words, char **corrected, DwMessage *message)
{
    DwText text = {0};
    DwStatus status = dw_query_run(
        book, "CREATE VIRTUAL TABLE IF NOT EXISTS temp.search_word USING fts5vocab('main', 'search', 'row')", message);
    while (status == DW_OK && *words) {
        size_t length = strcspn(words, " \t\n");
        char *word = dw_text_format("%.*s", (int)length, words), *best = NULL;
        if (length)
            status = find_nearest(book, word, &best, message);
        if (best)
            dw_text_add(&text, "%s%s", text.length ? " " : "", best);
        free(word);
        free(best);
        words += length;
        words += strspn(words, " \t\n");
    }
    *corrected = text.chars ? dw_text_take(&text) : dw_memory_text("");
    return status;
}

static DwStatus look_for(DwBook *book, const char *words, size_t most, DwHits *hits, DwMessage *message)
{
    char *match = match_of(words);
    DwStatus status = match ? run(book, match, most, hits, message) : DW_OK;
    free(match);
    return status;
}

// A telephone number by its figures alone.
#define FIGURES                                                                                                        \
    "replace(replace(replace(replace(replace(replace(replace(phone, ' ', ''), '-', ''), '/', ''), '.', ''), '(', "     \
    "''), "                                                                                                            \
    "')', ''), '+', '')"

// The figures of WORDS where they could be a telephone number, else "".
static void figures_of(const char *words, char figures[32])
{
    enum { LEAST = 5 }; // a number of a job has four
    size_t count = 0;
    bool number = true;
    for (const char *at = words; *at && number; at++) {
        number = (isdigit((unsigned char)*at) && count < 31) || strchr(" -/.()+", *at);
        if (number && isdigit((unsigned char)*at))
            figures[count++] = *at;
    }
    figures[number && count >= LEAST ? count : 0] = '\0';
}

// What every telephone number is like that has the last seven of FIGURES, in their order. Most are told apart by it.
static void likeness_of(const char *figures, char likeness[20])
{
    enum { LAST = 7 };
    size_t length = strlen(figures);
    char *at = likeness;
    for (const char *figure = figures + (length > LAST ? length - LAST : 0); *figure; figure++) {
        *at++ = '*';
        *at++ = *figure;
    }
    strcpy(at, "*");
}

// Customers by a telephone number however it is written: all of it, a part, or its last seven figures.
static DwStatus look_for_phone(DwBook *book, const char *words, size_t most, DwHits *hits, DwMessage *message)
{
    char figures[32], likeness[20];
    figures_of(words, figures);
    DwStatus status = DW_OK;
    if (!*figures)
        return DW_OK;
    likeness_of(figures, likeness);
    DwQuery query =
        dw_query_begin(book, "SELECT id FROM customer WHERE phone GLOB ?3 AND (instr(" FIGURES ", ?1) OR (length(?1) > "
                             "6 AND length(" FIGURES ") > 6 AND substr(" FIGURES ", -7) = substr(?1, -7))) "
                             "ORDER BY id DESC LIMIT ?2");
    dw_query_bind_text(&query, figures);
    dw_query_bind_integer(&query, (int64_t)most);
    dw_query_bind_text(&query, likeness);
    while (status == DW_OK && hits->count < most && dw_query_step(&query))
        status = add_hit(book, 0, dw_query_integer(&query, 0), hits, message);
    DwStatus ended = dw_query_end(&query, message);
    return status == DW_OK ? ended : status;
}

// The job of the invoice with that number.
static DwStatus look_for_invoice(DwBook *book, const char *words, DwHits *hits, DwMessage *message)
{
    enum { JOB_KIND = 4 };
    DwInvoice invoice;
    dw_record_init(&invoice.record, &dw_invoice_entity);
    const char *number = words + strspn(words, " ");
    bool found = strchr(number, '-') && dw_invoice_find(book, number, &invoice, NULL) == DW_OK;
    DwStatus status = found ? add_hit(book, JOB_KIND, invoice.job_id, hits, message) : DW_OK;
    dw_record_clear(&invoice.record);
    return status;
}

DwStatus dw_search_words(DwBook *book, const char *words, size_t most, DwHits *hits, DwMessage *message)
{
    DwHits found = {0};
    char *corrected = NULL;
    DwStatus status = look_for(book, words, most, &found, message);
    if (status == DW_OK)
        status = look_for_phone(book, words, most, &found, message);
    if (status == DW_OK)
        status = look_for_invoice(book, words, &found, message);
    if (status == DW_OK && !found.count) {
        status = correct(book, words, &corrected, message);
        if (status == DW_OK)
            status = look_for(book, corrected, most, &found, message);
        if (status == DW_OK && found.count) {
            found.instead = corrected;
            corrected = NULL;
        }
    }
    free(corrected);
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
    free(hits->instead);
    *hits = (DwHits){0};
}

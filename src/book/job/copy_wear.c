// SPDX-License-Identifier: MIT
#include "book/job/copy_wear.h"

#include "base/memory.h"
#include "base/sheet_json.h"
#include "book/store/private.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double TREBLE_HZ = 10000, NEAR = 0.01;

// The levels at 10 kHz by the table that a response has.
static void read_treble(const DwSheet *sheet, double treble_db[2])
{
    const DwTable *table = dw_sheet_table(sheet, "response.thirds");
    for (size_t row = 0; table && table->column_count > 2 && row < table->row_count; row++)
        for (size_t c = 0; c < 2 && fabs(dw_table_cell(table, row, 0)->number / TREBLE_HZ - 1) < NEAR; c++)
            treble_db[c] = dw_table_cell(table, row, 1 + c)->number;
}

static double value_of(const DwSheet *sheet, const char *key)
{
    const DwReading *reading = dw_sheet_reading(sheet, key);
    return reading && !reading->word ? reading->value : NAN;
}

// Takes what query stands on. Returned: false for one that reads nothing of a record's wear.
static bool take_row(const DwQuery *query, DwCopyWear *row)
{
    DwMessage unread;
    DwSheet *sheet = NULL;
    *row =
        (DwCopyWear){.measurement = dw_query_integer(query, 0), .treble_db = {NAN, NAN}, .hiss_db = NAN, .ticks = NAN};
    snprintf(row->day, sizeof row->day, "%.10s", dw_query_text(query, 1));
    snprintf(row->deck, sizeof row->deck, "%s", dw_query_text(query, 2));
    if (dw_sheet_json_read(dw_query_text(query, 3), &sheet, &unread) != DW_OK)
        return false;
    read_treble(sheet, row->treble_db);
    row->hiss_db = value_of(sheet, "noise.hiss");
    row->ticks = value_of(sheet, "noise.ticks");
    dw_sheet_free(sheet);
    return isfinite(row->treble_db[0]) || isfinite(row->treble_db[1]) || isfinite(row->hiss_db) || isfinite(row->ticks);
}

DwStatus dw_copy_wear_list(DwBook *book, const char *name, DwCopyWear **wear, size_t *count, DwMessage *message)
{
    DwQuery query = dw_query_begin(
        book, "SELECT measurement.id, measurement.at, trim(coalesce(deck.make || ' ' || deck.model, '')), "
              "measurement.sheet FROM measurement JOIN job ON job.id = measurement.job_id LEFT JOIN deck ON "
              "deck.id = job.deck_id WHERE measurement.test_record = ? AND measurement.withdrawn_at IS NULL ORDER BY "
              "measurement.at, measurement.id");
    dw_query_bind_text(&query, name);
    DwCopyWear *rows = NULL, row;
    size_t taken = 0;
    while (dw_query_step(&query))
        if (take_row(&query, &row)) {
            rows = dw_memory_resize(rows, taken + 1, sizeof *rows);
            rows[taken++] = row;
        }
    DwStatus status = dw_query_end(&query, message);
    if (status == DW_OK) {
        *wear = rows;
        *count = taken;
    } else
        free(rows);
    return status;
}

double dw_copy_wear_fall_db(const DwCopyWear *wear, size_t count, size_t channel, size_t *first, size_t *last)
{
    size_t longest = 0;
    double fall = NAN;
    for (size_t i = 0; i < count; i++)
        for (size_t k = count; --k > i;)
            if (strcmp(wear[i].deck, wear[k].deck) == 0 && isfinite(wear[i].treble_db[channel]) &&
                isfinite(wear[k].treble_db[channel]) && k - i > longest) {
                longest = k - i;
                *first = i;
                *last = k;
                fall = wear[i].treble_db[channel] - wear[k].treble_db[channel];
            }
    return fall;
}

// SPDX-License-Identifier: MIT
#include "base/memory.h"
#include "book/store/bound.h"
#include "book/store/private.h"

#include <stdlib.h>

static const DwField fields[] = {
    {"class", "Class", DW_FIELD_TEXT, offsetof(DwBound, class),
     .help = "A class of deck, as in the list of limits; empty with a model."},
    {"make", "Make", DW_FIELD_TEXT, offsetof(DwBound, make)},
    {"model", "Model", DW_FIELD_TEXT, offsetof(DwBound, model)},
    {"key", "Reading", DW_FIELD_TEXT, offsetof(DwBound, key), .required = true},
    {"low", "Allowed from", DW_FIELD_REAL, offsetof(DwBound, low)},
    {"high", "Allowed to", DW_FIELD_REAL, offsetof(DwBound, high)},
    {"good_low", "Good from", DW_FIELD_REAL, offsetof(DwBound, good_low)},
    {"good_high", "Good to", DW_FIELD_REAL, offsetof(DwBound, good_high)},
    {"source", "Source", DW_FIELD_TEXT, offsetof(DwBound, source), .lines = true, .required = true,
     .help = "Who says so: a manual, a standard, the shop's own experience."},
};

const DwEntity dw_bound_entity = {"bound", "limit", sizeof(DwBound), fields, sizeof fields / sizeof *fields};

DwStatus dw_bound_find(DwBook *book, const char *class, const char *make, const char *model, const char *key,
                       bool *found, DwLimit *limit, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT low, high, good_low, good_high, source FROM bound WHERE key = ?1 AND "
                                         "((model <> '' AND model = ?2 COLLATE NOCASE AND make = ?3 COLLATE NOCASE) OR "
                                         "(model = '' AND class = ?4)) ORDER BY model = '', id DESC LIMIT 1");
    dw_query_bind_text(&query, key);
    dw_query_bind_text(&query, model);
    dw_query_bind_text(&query, make);
    dw_query_bind_text(&query, class);
    *found = dw_query_step(&query);
    if (*found)
        *limit = (DwLimit){dw_query_real(&query, 0), dw_query_real(&query, 1), dw_query_real(&query, 2),
                           dw_query_real(&query, 3), dw_memory_text(dw_query_text(&query, 4))};
    return dw_query_end(&query, message);
}

DwStatus dw_bound_apply(DwBook *book, const char *class, const char *make, const char *model, DwSheet *sheet,
                        DwMessage *message)
{
    for (size_t i = 0; i < sheet->reading_count; i++) {
        DwReading *reading = &sheet->readings[i];
        DwLimit limit;
        bool found = false;
        DwStatus status = dw_bound_find(book, class, make, model, reading->key, &found, &limit, message);
        if (status != DW_OK)
            return status;
        if (!found)
            continue;
        dw_reading_set_limit(reading, (DwRange){limit.low, limit.high}, (DwRange){limit.good_low, limit.good_high},
                             limit.source);
        free(limit.source);
    }
    return DW_OK;
}

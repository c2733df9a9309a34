// SPDX-License-Identifier: MIT
#include "chart/draw/chart_words.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"

#include <assert.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

static const struct {
    const char *key, *text;
} own[] = {
    {"curve.empty", "{name} holds no measured point."},
    {"curve.time", "{name} over {span} {ends}{rhythm}."},
    {"curve.rhythm", "its strongest rhythm comes once per {period}"},
    {"curve.spectrum", "{name} from {from} to {to} is largest at {peaks}."},
    {"curve.peak", "{at} with {value}"},
    {"curve.then", "then"},
    {"curve.other", "{name} {ends}{extremes}{crossings}."},
    {"curve.steady", "stays at {value}"},
    {"curve.between", "stays between {low} and {high}"},
    {"curve.extremes", "lowest at {low}, highest at {high}"},
    {"curve.crossings", "zero at {places}"},
    {"curve.elsewhere", "and elsewhere"},
    {"curve.allowed", "Shaded: allowed."},
    {"raster.rows", "{name}, {rows} rows"},
    {"raster.row", "{name}, 1 row"},
    {"raster.empty", "{raster}, holds no measured place."},
    {"raster.range", "{raster}, lies between {low} and {high}{pattern}{missing}."},
    {"raster.upright", "{share} of its variance stands upright from row to row"},
    {"raster.rest", "the rest {slant}"},
    {"raster.slanted", "its pattern {slant}"},
    {"raster.none", "no pattern repeats from row to row"},
    {"raster.right", "slants by about {turn} to the right a row"},
    {"raster.left", "slants by about {turn} to the left a row"},
    {"raster.missing", "{share} of it was not measured"},
    {"raster.newest", "The newest row is at the bottom."},
    {"raster.beyond", "What lies beyond the scale has the colour of its end."},
    {"raster.key_upright", "upright: platter or record"},
    {"raster.key_slanted", "slanted: belt or idler"},
    {"received", "as received"},
    {"left", "as left"},
};

const char *dw_chart_words_say(const DwChartWords *words, const char *key)
{
    const char *said = words ? words->say(words->context, "charts", key) : "";
    if (*said)
        return said;
    for (size_t i = 0; i < sizeof own / sizeof *own; i++)
        if (strcmp(own[i].key, key) == 0)
            return dw_said(own[i].text);
    assert(!"a text that charts have");
    return "";
}

char *dw_chart_words_fill(const DwChartWords *words, const char *key, ...)
{
    char *text = dw_memory_text(dw_chart_words_say(words, key));
    va_list list;
    va_start(list, key);
    for (const char *name; (name = va_arg(list, const char *));) {
        char *filled = dw_text_replace(text, name, va_arg(list, const char *));
        free(text);
        text = filled;
    }
    va_end(list);
    return text;
}

const char *dw_chart_words_verdict(const DwChartWords *words, DwVerdict verdict)
{
    const char *own_word = dw_verdict_word(verdict), *said = "";
    if (words && *own_word)
        said = words->say(words->context, "verdicts", own_word);
    return *said ? said : dw_said(own_word);
}

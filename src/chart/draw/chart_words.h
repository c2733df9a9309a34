// SPDX-License-Identifier: MIT
// The words that charts write: English of their own, unless whoever draws has
// other words for them.
#ifndef DW_CHART_CHART_WORDS_H
#define DW_CHART_CHART_WORDS_H

#include "base/sheet.h"

// Somebody's own words: SAY returns the text called KEY of GROUP ("charts" or "verdicts"),
// with names in braces to be filled in, or "" to leave it as it is.
typedef struct {
    const char *(*say)(const void *context, const char *group, const char *key);
    const void *context;
} DwChartWords;

// The text called KEY of the charts: that of WORDS (NULL for none), else the charts' own.
const char *dw_chart_words_say(const DwChartWords *words, const char *key);
// The same with each {name} replaced; names and values follow, NULL last. The caller frees it with free().
char *dw_chart_words_fill(const DwChartWords *words, const char *key, ...) __attribute__((sentinel));
// The verdict's word.
const char *dw_chart_words_verdict(const DwChartWords *words, DwVerdict verdict);

#endif

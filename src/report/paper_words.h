// SPDX-License-Identifier: MIT
// Every fixed text of the papers: data/words/papers.ini in English, papers.de.ini and so on in other languages, and
// before them a file of the shop's own with whatever it wants to say otherwise.
#ifndef DW_REPORT_PAPER_WORDS_H
#define DW_REPORT_PAPER_WORDS_H

#include "base/status.h"
#include "chart/draw/chart_words.h"

#include <stdbool.h>
#include <stddef.h>

typedef struct DwPaperWords DwPaperWords;

// Reads the texts in DATA_FOLDER in LANGUAGE ("de", "de-AT"; English where there are none in it), and those of the file
// OWN (NULL for none) before them. A text in OWN that no paper has is DW_BAD_INPUT. The caller frees *WORDS
// with dw_paper_words_free().
DwStatus dw_paper_words_read(const char *data_folder, const char *language, const char *own, DwPaperWords **words,
                             DwMessage *message);
// The language that the words are in, as a tag: "de", "en-GB". Valid as long as WORDS.
const char *dw_paper_words_language(const DwPaperWords *words);
bool dw_paper_words_are_english(const DwPaperWords *words);
struct DwNumberStyle;
// How numbers stand in it. Valid as long as WORDS.
const struct DwNumberStyle *dw_paper_words_numbers(const DwPaperWords *words);
void dw_paper_words_free(DwPaperWords *words);

// Puts TEXT before all that is said under NAME, "group.key". A name that no paper has is DW_BAD_INPUT.
DwStatus dw_paper_words_prefer(DwPaperWords *words, const char *name, const char *text, DwMessage *message);

// One text: whether it is the shop's own, and whether somebody asked for it since the words were read.
typedef struct {
    const char *group, *key, *text;
    bool own, asked;
} DwPaperText;
// The texts that stand, one after another; false past the last. Valid as long as WORDS.
bool dw_paper_words_at(const DwPaperWords *words, size_t index, DwPaperText *text);

// The words for charts, in [charts] and [verdicts]. Valid as long as WORDS.
DwChartWords dw_paper_words_for_charts(const DwPaperWords *words);
// The text called KEY of GROUP, "" for none. Valid as long as WORDS.
const char *dw_paper_words_say(const DwPaperWords *words, const char *group, const char *key);
// The text of GROUP that says what ENGLISH says; ENGLISH itself where none does. Valid as long as both.
const char *dw_paper_words_same(const DwPaperWords *words, const char *group, const char *english);
// A text with each {name} replaced; names and values follow, NULL last. The caller frees it with free().
char *dw_paper_words_fill(const DwPaperWords *words, const char *group, const char *key, ...) __attribute__((sentinel));

#endif

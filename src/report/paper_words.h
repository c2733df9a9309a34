// SPDX-License-Identifier: MIT
// Every fixed text of the papers: data/words/papers.ini, and before it a file of
// the shop's own with whatever it wants to say otherwise.
#ifndef DW_REPORT_PAPER_WORDS_H
#define DW_REPORT_PAPER_WORDS_H

#include "base/status.h"

typedef struct DwPaperWords DwPaperWords;

// Reads the texts in DATA_FOLDER, and those of the file OWN (NULL for none) before
// them. A text in OWN that no paper has is DW_BAD_INPUT. The caller frees *WORDS
// with dw_paper_words_free().
DwStatus dw_paper_words_read(const char *data_folder, const char *own, DwPaperWords **words, DwMessage *message);
void dw_paper_words_free(DwPaperWords *words);

// The text called KEY of GROUP, "" for none. Valid as long as WORDS.
const char *dw_paper_words_say(const DwPaperWords *words, const char *group, const char *key);
// The same with each {name} replaced; names and values follow, NULL last. The caller frees it with free().
char *dw_paper_words_fill(const DwPaperWords *words, const char *group, const char *key, ...) __attribute__((sentinel));
// TEXT with every {NAME} in it replaced. The caller frees it with free().
char *dw_paper_words_replace(const char *text, const char *name, const char *value);

#endif

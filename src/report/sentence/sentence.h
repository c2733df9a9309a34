// SPDX-License-Identifier: MIT
// Every sentence of the papers with the question it depends on and the answer at which it
// stands. The words are in data/words/papers.ini; a sentence that has no row here cannot be
// printed.
#ifndef DW_REPORT_SENTENCE_H
#define DW_REPORT_SENTENCE_H

#include "report/sentence/question.h"

typedef struct {
    const char *group, *key; // of its words
    const DwPaperQuestion *question;
    DwReply stands; // the answer at which it is printed
    const char *word;
} DwSentence;

// The rows one after another; NULL past the last.
const DwSentence *dw_sentence_at(size_t index);
// The row of KEY in GROUP, or NULL.
const DwSentence *dw_sentence_find(const char *group, const char *key);

// Whether the sentence stands: DOSSIER's book gives the answer that its row wants. ABOUT is what
// its question is about, or NULL.
bool dw_sentence_stands(const DwDossier *dossier, const char *group, const char *key, const void *about);
// Its words, each {name} replaced (names and values follow, NULL last); "" where it does not stand
// or a value is empty. The caller frees it with free().
char *dw_sentence(const DwDossier *dossier, const char *group, const char *key, const void *about, ...)
    __attribute__((sentinel));

#endif

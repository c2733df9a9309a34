// SPDX-License-Identifier: MIT
// The procedures by what a technician wants to know, and which of their
// quantities a form begins with.
#ifndef DW_WEB_QUESTION_H
#define DW_WEB_QUESTION_H

#include "procedure/registry/procedure.h"

typedef struct {
    const char *procedure;
    const char *words;    // the question, in plain words
    const char *first[8]; // keys that are asked at once; the others are folded away
} DwQuestion;

typedef struct {
    const char *heading;
    const DwQuestion *questions;
    size_t count;
} DwQuestionGroup;

// The groups in order; NULL past the last. Their words are to be translated.
const DwQuestionGroup *dw_question_group_at(size_t index);
// The question that PROCEDURE answers.
const DwQuestion *dw_question_find(const DwProcedure *procedure);
// Whether QUESTION asks for KEY at once.
bool dw_question_begins_with(const DwQuestion *question, const char *key);
// The name of the section that KEY belongs to ("arm" of "arm.offset"), to be translated.
const char *dw_question_section(const char *key);

#endif

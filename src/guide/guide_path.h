// SPDX-License-Identifier: MIT
// The path of a case: what was asked in its order, what was answered, and what each answer says of the likeliest cause.
#ifndef DW_GUIDE_GUIDE_PATH_H
#define DW_GUIDE_GUIDE_PATH_H

#include "guide/guide_reason.h"

// Evidence that speaks for or against a fault by fewer bits than this is no reason.
extern const double dw_guide_bits_shown;

// The question of the kind of drive.
extern const char dw_guide_drive_question[];

// Whether anything was answered.
bool dw_guide_path_any(const DwGuideCase *guide_case);
// Adds the table guide.answers: the answers as dw_guide_case_take_word() takes them, with their questions.
void dw_guide_path_add(const DwGuideCase *guide_case, const DwGuideReasons *reasons, DwSheet *sheet);
// Adds the table guide.path: the same to be read; PLAIN for an owner, without bits and sources.
void dw_guide_path_add_read(const DwGuideCase *guide_case, const DwGuideReasons *reasons, bool plain, DwSheet *sheet);
// What was answered of SIGN, to be read: "yes", "no, then yes". The caller frees it with free().
char *dw_guide_spoken_word(const DwGuideCase *guide_case, size_t sign);

#endif

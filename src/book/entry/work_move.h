// SPDX-License-Identifier: MIT
// What the papers of a job say of its state: where it would go next, and what
// speaks against moving it elsewhere. A proposal is made, never carried out here.
#ifndef DW_BOOK_WORK_MOVE_H
#define DW_BOOK_WORK_MOVE_H

#include "book/entry/work_line.h"

// Whether FACTS say that a job in STATE stands elsewhere by now, as after an
// estimate was given out or the owner agreed. Then *NEXT and WHY, a sentence.
bool dw_work_move_propose(const DwWorkFacts *facts, DwJobState state, DwJobState *next, const char **why);
// What in FACTS speaks against STATE, as a sentence; NULL when nothing does. Valid for ever.
const char *dw_work_move_doubt(const DwWorkFacts *facts, DwJobState state);

#endif

// SPDX-License-Identifier: MIT
// One field of a record as the control of a form.
#ifndef DW_WEB_RECORD_CONTROL_H
#define DW_WEB_RECORD_CONTROL_H

#include "book/store/record.h"
#include "web/server/visit.h"

// Writes the control that FIELD's kind asks for, with RECORD's value in it.
void dw_record_control(DwVisit *visit, const DwRecord *record, const DwField *field);

#endif

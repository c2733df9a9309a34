// SPDX-License-Identifier: MIT
// An issued invoice or credit note as an electronic one: OASIS UBL 2.1, the core of EN 16931-1:2017 in the syntax of
// CEN/TS 16931-3-2. It says what the invoice said when it was issued: of payments only the deposits taken before.
#ifndef DW_BOOK_UBL_H
#define DW_BOOK_UBL_H

#include "book/money/invoice.h"

// Writes INVOICE into *XML. What the standard asks for and the book does not say (the shop's country or tax number, a
// currency's code, why no tax is charged …) is DW_BAD_INPUT with where to say it. The caller frees *XML with free().
DwStatus dw_ubl_write(DwBook *book, int64_t invoice, char **xml, DwMessage *message);

#endif

// SPDX-License-Identifier: MIT
// A reading on its range mark, drawn in the page: the allowed range thickened, a
// hollow mark as received, a filled one as left, the uncertainty as a whisker.
#ifndef DW_WEB_RANGE_MARK_H
#define DW_WEB_RANGE_MARK_H

#include "base/sheet.h"
#include "web/page/html.h"

// Whether there is something to hold READING against: a limit, or BEFORE (NAN: none).
bool dw_range_mark_is_wanted(const DwReading *reading, double before);
void dw_range_mark_write(DwHtml *html, const DwReading *reading, double before);

#endif

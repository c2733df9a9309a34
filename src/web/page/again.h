// SPDX-License-Identifier: MIT
// What a refused form said, on the page that refuses it.
#ifndef DW_WEB_AGAIN_H
#define DW_WEB_AGAIN_H

#include "web/page/page.h"

// Writes the form that was sent to PAGE's request with what was typed into it, to be put right and sent again; neither
// passwords nor files. False, and nothing is written, where nothing was typed or the form was none of this bench.
bool dw_page_again(DwPage *page);

#endif

// SPDX-License-Identifier: MIT
// How a live take came in, in plain words of the user's language. The sheet itself keeps short
// names, by which papers and older sheets are read. Of sheet_table only.
#ifndef DW_WEB_TAKE_WORDS_H
#define DW_WEB_TAKE_WORDS_H

// What a page says for WORD of the table "take"; WORD itself where it is a name or a number.
const char *dw_take_words(const char *word);

#endif

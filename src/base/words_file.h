// SPDX-License-Identifier: MIT
// The translations of one language in one file, as msgfmt writes it.
// Reference: GNU gettext manual, "The Format of GNU MO Files".
#ifndef DW_BASE_WORDS_FILE_H
#define DW_BASE_WORDS_FILE_H

typedef struct DwWordsFile DwWordsFile;

// The translations in the file at PATH; NULL where there are none, or it is damaged. The caller frees it with
// dw_words_file_free().
DwWordsFile *dw_words_file_open(const char *path);
void dw_words_file_free(DwWordsFile *file);
// What stands for TEXT, of a text with a plural what stands for one; TEXT itself where there is nothing. Valid as long
// as FILE.
const char *dw_words_file_find(const DwWordsFile *file, const char *text);

#endif

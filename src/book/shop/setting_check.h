// SPDX-License-Identifier: MIT
// What a setting asks of its value beyond its kind: each is refused with one line where it would only fail on a paper,
// months later. "" is always taken back: nothing is set then.
#ifndef DW_BOOK_SETTING_CHECK_H
#define DW_BOOK_SETTING_CHECK_H

#include "book/store/record.h"

#include <stdbool.h>

typedef DwStatus DwSettingCheck(const DwBook *book, const DwField *field, const char *text, DwMessage *message);

// "#rrggbb".
DwSettingCheck dw_setting_check_colour;
// A code of ISO 4217, or a sign or a word of at most eight letters, without figures.
DwSettingCheck dw_setting_check_currency;
// A code of ISO 3166-1.
DwSettingCheck dw_setting_check_country;
// What begins as an IBAN does (two letters, two figures) keeps the check figures of ISO 13616, 7; anything else is
// taken.
DwSettingCheck dw_setting_check_account;
// A language tag (RFC 5646, 2.1; '_' counts as '-') of a language that the papers have words in, or any where
// paper.words is set.
DwSettingCheck dw_setting_check_language;
// To be called before any thread is begun, with the folder of the papers' words (papers.de.ini …): those are the
// languages. Until then they are the four that the program comes with.
void dw_setting_find_words_in(const char *folder);
// An ordinary file that begins as a PNG (ISO/IEC 15948, 5.2) or a JPEG (ITU-T T.81, B.1) does.
DwSettingCheck dw_setting_check_picture;
// An ordinary file.
DwSettingCheck dw_setting_check_file;
// A size that dw_label_size_read() takes.
DwSettingCheck dw_setting_check_label;

// One label: alone, or as many on a sheet as it holds.
typedef struct {
    double width_mm, height_mm;
    bool sheet;
} DwLabelSize;

// Reads "62 x 29", in mm, or "70 x 37 sheet". Returned: false for anything else, and for what no code or word fits on.
bool dw_label_size_read(const char *text, DwLabelSize *size);

#endif

// SPDX-License-Identifier: MIT
// The shop's own settings: its name and terms, its money, its periods. Each is a
// row of one table with a preset that is common practice and may be changed.
#ifndef DW_BOOK_SETTINGS_H
#define DW_BOOK_SETTINGS_H

#include "book/shop/setting_check.h"

typedef struct {
    DwField field; // key, label, kind, choices, help
    const char *preset;
    DwSettingCheck *check; // or NULL
} DwSetting;

// The settings one after another; NULL past the last. And the one called KEY, or NULL.
const DwSetting *dw_settings_at(size_t index);
const DwSetting *dw_settings_find(const char *key);

// Sets KEY from what was typed, with a line in the journal. Like dw_record_set().
DwStatus dw_settings_set(DwBook *book, const char *key, const char *text, DwMessage *message);
// What stands for KEY: what was set, else its preset. The caller frees it with free().
char *dw_settings_text(DwBook *book, const char *key);
// What stood for KEY at MOMENT, as the journal has it. The caller frees it with free().
char *dw_settings_text_at(DwBook *book, const char *key, const char *moment);
// What stands for a setting that is a whole number, an amount (DW_AMOUNT_NONE when empty) or a rate.
int64_t dw_settings_integer(DwBook *book, const char *key);
int64_t dw_settings_amount(DwBook *book, const char *key);
int64_t dw_settings_rate(DwBook *book, const char *key);

// The hash of the password that opens the book's pages on other screens: kept like
// a setting but in no list, and neither exported nor journalled. "" when there is
// none. The caller frees it with free().
char *dw_settings_password_hash(DwBook *book);
// "" takes the password away.
DwStatus dw_settings_set_password_hash(DwBook *book, const char *hash, DwMessage *message);

#endif

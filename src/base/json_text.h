// SPDX-License-Identifier: MIT
// Writes JSON as it goes, for what is sent many times a second. Start with {0};
// what is not finite becomes null; numbers are written without a locale.
#ifndef DW_BASE_JSON_TEXT_H
#define DW_BASE_JSON_TEXT_H

#include "base/text.h"

#include <stdint.h>

typedef struct {
    DwText text;
    bool follows; // something stands before in the same brackets
} DwJsonText;

// KEY is NULL within an array and at the root. OPEN is '{' or '[', CLOSE its fellow.
void dw_json_text_begin(DwJsonText *json, const char *key, char open);
void dw_json_text_end(DwJsonText *json, char close);
// VALUE with at most DECIMALS digits after the point, without trailing zeros.
void dw_json_text_number(DwJsonText *json, const char *key, double value, int decimals);
void dw_json_text_count(DwJsonText *json, const char *key, uint64_t value);
void dw_json_text_flag(DwJsonText *json, const char *key, bool value);
// UTF-8; NULL is written as null.
void dw_json_text_word(DwJsonText *json, const char *key, const char *value);
// Hands the text over and empties JSON. The caller frees it with free().
char *dw_json_text_take(DwJsonText *json);

#endif

// SPDX-License-Identifier: MIT
#include "base/json_text.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

static void add_quoted(DwText *text, const char *words)
{
    dw_text_add(text, "\"");
    for (const char *at = words; *at;) {
        size_t plain = strcspn(at, "\"\\");
        for (size_t i = 0; i < plain; i++)
            if ((unsigned char)at[i] < 0x20)
                plain = i;
        dw_text_add(text, "%.*s", (int)plain, at);
        at += plain;
        if (*at)
            dw_text_add(text, "\\u%04x", (unsigned char)*at++);
    }
    dw_text_add(text, "\"");
}

// The comma and the key that stand before a value.
static void lead(DwJsonText *json, const char *key)
{
    if (json->follows)
        dw_text_add(&json->text, ",");
    json->follows = true;
    if (!key)
        return;
    add_quoted(&json->text, key);
    dw_text_add(&json->text, ":");
}

void dw_json_text_begin(DwJsonText *json, const char *key, char open)
{
    lead(json, key);
    dw_text_add(&json->text, "%c", open);
    json->follows = false;
}

void dw_json_text_end(DwJsonText *json, char close)
{
    dw_text_add(&json->text, "%c", close);
    json->follows = true;
}

void dw_json_text_number(DwJsonText *json, const char *key, double value, int decimals)
{
    char digits[400];
    lead(json, key);
    if (!isfinite(value)) {
        dw_text_add(&json->text, "null");
        return;
    }
    dw_text_decimal(digits, sizeof digits, value, decimals);
    if (strchr(digits, '.')) {
        size_t length = strlen(digits);
        while (digits[length - 1] == '0')
            digits[--length] = '\0';
        if (digits[length - 1] == '.')
            digits[length - 1] = '\0';
    }
    dw_text_add(&json->text, "%s", digits);
}

void dw_json_text_count(DwJsonText *json, const char *key, uint64_t value)
{
    lead(json, key);
    dw_text_add(&json->text, "%" PRIu64, value);
}

void dw_json_text_flag(DwJsonText *json, const char *key, bool value)
{
    lead(json, key);
    dw_text_add(&json->text, value ? "true" : "false");
}

void dw_json_text_word(DwJsonText *json, const char *key, const char *value)
{
    lead(json, key);
    if (value)
        add_quoted(&json->text, value);
    else
        dw_text_add(&json->text, "null");
}

char *dw_json_text_take(DwJsonText *json)
{
    json->follows = false;
    return dw_text_take(&json->text);
}

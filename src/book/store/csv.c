// SPDX-License-Identifier: MIT
#include "book/store/csv.h"

#include <string.h>

void dw_csv_add(DwText *csv, const char *text)
{
    if (!text[strcspn(text, ",\"\r\n")]) {
        dw_text_add(csv, "%s", text);
        return;
    }
    dw_text_add(csv, "\"");
    while (*text) {
        size_t length = strcspn(text, "\"");
        dw_text_add(csv, text[length] ? "%.*s\"\"" : "%.*s", (int)length, text);
        text += length + (text[length] != '\0');
    }
    dw_text_add(csv, "\"");
}

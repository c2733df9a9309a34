// SPDX-License-Identifier: MIT
// Sheets as JSON: what can be read is written, read again and written the same.
#include "base/sheet_json.h"
#include "target.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    char *text = target_text(bytes, count);
    DwSheet *sheet = NULL, *again = NULL;
    DwMessage message = {""};
    DwStatus status = dw_sheet_json_read(text, &sheet, &message);
    TARGET_HOLDS(status == DW_OK ? sheet != NULL : message.text[0] != 0);
    if (status == DW_OK) {
        char *once = dw_sheet_json_write(sheet);
        TARGET_HOLDS(dw_sheet_json_read(once, &again, &message) == DW_OK);
        char *twice = dw_sheet_json_write(again);
        TARGET_HOLDS(strcmp(once, twice) == 0);
        dw_sheet_free(again);
        free(twice);
        free(once);
    }
    dw_sheet_free(sheet);
    free(text);
    return 0;
}

// SPDX-License-Identifier: MIT
// Key files: deck files, limits.
#include "base/keyfile.h"
#include "target.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    char *text = target_text(bytes, count);
    DwKeyfile file;
    DwMessage message = {""};
    DwStatus status = dw_keyfile_parse(text, count, "file", &file, &message);
    TARGET_HOLDS(status == DW_OK || (file.count == 0 && message.text[0]));
    for (size_t i = 0; i < file.count; i++) {
        const DwKeyLine *line = &file.lines[i];
        TARGET_HOLDS(line->line > 0 && (i == 0 || line->line >= file.lines[i - 1].line));
        TARGET_HOLDS(dw_keyfile_value(&file, line->group, line->key));
    }
    dw_keyfile_clear(&file);
    free(text);
    return 0;
}

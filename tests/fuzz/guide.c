// SPDX-License-Identifier: MIT
// The guide's files, one after the other with "%%" on a line between: they are read, or what is wrong is said.
#include "guide/guide_reason.h"
#include "target.h"

#include <stdio.h>
#include <unistd.h>

enum { FILES = 5, PATH_LENGTH = 80, ANSWERS_MOST = 6 };
static const char *const names[FILES] = {"faults.ini", "symptoms.ini", "findings.ini", "tests.ini", "remedies.ini"};

static void write_files(const char *folder, const char *text, size_t count)
{
    const char *at = text, *end = text + count;
    for (size_t i = 0; i < FILES; i++) {
        char path[PATH_LENGTH];
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        FILE *file = fopen(path, "we");
        TARGET_HOLDS(file);
        const char *next = strstr(at, "%%\n");
        size_t length = (size_t)((next ? next : end) - at);
        TARGET_HOLDS(fwrite(at, 1, length, file) == length && fclose(file) == 0);
        at = next ? next + strlen("%%\n") : end;
    }
}

// What hangs together is reasoned with.
static void reason(const DwGuideKnowledge *knowledge)
{
    DwGuideCase guide_case;
    dw_guide_case_init(&guide_case, knowledge);
    for (size_t i = 0; i < knowledge->sign_count && i < ANSWERS_MOST; i++)
        dw_guide_case_answer(&guide_case, i, i % 2 ? DW_GUIDE_NO : DW_GUIDE_YES);
    DwGuideReasons reasons;
    dw_guide_reason(&guide_case, &reasons);
    for (size_t i = 0; i < reasons.count; i++)
        TARGET_HOLDS(reasons.chance[reasons.order[i]] >= 0 && reasons.chance[reasons.order[i]] <= 1.000001);
    dw_guide_reasons_clear(&reasons);
    dw_guide_case_clear(&guide_case);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    char folder[] = "/tmp/guide-XXXXXX", *text = target_text(bytes, count);
    TARGET_HOLDS(mkdtemp(folder));
    write_files(folder, text, strlen(text));
    DwGuideKnowledge knowledge;
    DwGuideTroubles troubles = {0};
    DwMessage message = {""};
    DwStatus status = dw_guide_knowledge_read(folder, &knowledge, &troubles, &message);
    TARGET_HOLDS(status == DW_OK || message.text[0]);
    if (status == DW_OK && !troubles.count)
        reason(&knowledge);
    dw_guide_troubles_clear(&troubles);
    dw_guide_knowledge_clear(&knowledge);
    for (size_t i = 0; i < FILES; i++) {
        char path[PATH_LENGTH];
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        unlink(path);
    }
    rmdir(folder);
    free(text);
    return 0;
}

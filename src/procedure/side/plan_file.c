// SPDX-License-Identifier: MIT
#include "procedure/side/plan_file.h"

#include "base/memory.h"
#include "base/text.h"
#include "procedure/registry/data_table.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

char *dw_plan_file_path(const char *name)
{
    if (access(name, F_OK) == 0 || strchr(name, '/'))
        return dw_memory_text(name);
    static const char *const endings[] = {"", ".plan"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        char *path = dw_text_format("%s/plans/%s%s", dw_data_folder(), name, endings[i]);
        if (access(path, F_OK) == 0)
            return path;
        free(path);
    }
    return dw_memory_text(name);
}

// SPDX-License-Identifier: MIT
#include "base/place.h"

#include "base/memory.h"
#include "base/text.h"

#include <pthread.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { PATH_MOST = 4096, FOLDERS_ABOVE = 3 };

static char own_data[PATH_MOST + 32], own_locale[PATH_MOST + 32];

// The folder that the program lies in, "" where the system does not tell.
static void own_folder(char folder[PATH_MOST])
{
    ssize_t length = readlink("/proc/self/exe", folder, PATH_MOST - 1);
    folder[length > 0 ? length : 0] = '\0';
    char *slash = strrchr(folder, '/');
    if (slash)
        *slash = '\0';
}

static void look_around(void)
{
    char folder[PATH_MOST];
    own_folder(folder);
    for (int above = 0; above < FOLDERS_ABOVE; above++) {
        char *slash = strrchr(folder, '/');
        if (!slash)
            break;
        *slash = '\0';
        snprintf(own_data, sizeof own_data, "%s/share/deckwright", folder);
        snprintf(own_locale, sizeof own_locale, "%s/share/locale", folder);
        if (access(own_data, X_OK) == 0)
            return;
    }
    snprintf(own_data, sizeof own_data, "%s/deckwright", DW_INSTALLED_SHARE);
    snprintf(own_locale, sizeof own_locale, "%s/locale", DW_INSTALLED_SHARE);
}

static const char *place(const char *variable, const char *own)
{
    static pthread_once_t once = PTHREAD_ONCE_INIT;
    pthread_once(&once, look_around);
    const char *said = getenv(variable);
    return said && *said ? said : own;
}

const char *dw_data_folder(void)
{
    return place("DECKWRIGHT_DATA", own_data);
}

char *dw_data_path(const char *folder, const char *name, const char *ending)
{
    const char *const endings[] = {"", ending};
    bool plain = access(name, F_OK) != 0 && !strchr(name, '/');
    for (size_t i = 0; plain && i < sizeof endings / sizeof *endings; i++) {
        char *path = dw_text_format("%s/%s/%s%s", dw_data_folder(), folder, name, endings[i]);
        if (access(path, F_OK) == 0)
            return path;
        free(path);
    }
    return dw_memory_text(name);
}

const char *dw_locale_folder(void)
{
    return place("DECKWRIGHT_WORDS", own_locale);
}

char *dw_place_beside(const char *name)
{
    char folder[PATH_MOST];
    own_folder(folder);
    return dw_text_format("%s/%s", folder, name);
}

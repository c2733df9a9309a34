// SPDX-License-Identifier: MIT
#include "base/arm_key.h"

#include "base/memory.h"
#include "base/text.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum { NAME_MOST = 40 };

bool dw_arm_key_is_arms(const char *key)
{
    static const char *const sections[] = {"align", "arm",   "azimuth", "cable", "cartridge",
                                           "force", "found", "rake",    "setup"};
    static const char *const decks[] = {"setup.drive", "setup.level", "setup.suspension", "setup.mat", "setup.speed"};
    size_t length = strcspn(key, ".");
    for (size_t i = 0; i < sizeof decks / sizeof *decks; i++)
        if (strncmp(decks[i], key, strcspn(key, "@")) == 0)
            return false;
    for (size_t i = 0; i < sizeof sections / sizeof *sections; i++)
        if (strlen(sections[i]) == length && strncmp(sections[i], key, length) == 0)
            return true;
    return false;
}

const char *dw_arm_key_name(const char *key)
{
    const char *at = strchr(key, '@');
    return at ? at + 1 : "";
}

char *dw_arm_key_plain(const char *key)
{
    return dw_text_format("%.*s", (int)strcspn(key, "@"), key);
}

char *dw_arm_key_join(const char *key, const char *arm)
{
    return *arm && dw_arm_key_is_arms(key) ? dw_text_format("%s@%s", key, arm) : dw_memory_text(key);
}

bool dw_arm_key_belongs(const char *key, const char *arm)
{
    const char *name = dw_arm_key_name(key);
    return dw_arm_key_is_arms(key) ? strcasecmp(name, arm) == 0 : !*name;
}

const DwQuantity *dw_arm_key_quantity(const char *key)
{
    char *plain = dw_arm_key_plain(key);
    const DwQuantity *row = dw_quantity_find(plain);
    free(plain);
    return row;
}

static const DwQuantity *row_called(const char *label, size_t length)
{
    const DwQuantity *row;
    for (size_t i = 0; (row = dw_quantity_at(i)); i++)
        if (strlen(row->label) == length && strncasecmp(row->label, label, length) == 0)
            return row;
    return NULL;
}

char *dw_arm_key_of_words(const char *words)
{
    size_t length = strlen(words);
    if (dw_arm_key_quantity(words))
        return dw_memory_text(words);
    const DwQuantity *row = row_called(words, length);
    const char *open = strrchr(words, '(');
    if (row || !open || open - words < 2 || words[length - 1] != ')')
        return dw_memory_text(row ? row->key : words);
    row = row_called(words, (size_t)(open - words) - 1);
    return row ? dw_text_format("%s@%.*s", row->key, (int)(words + length - open) - 2, open + 1)
               : dw_memory_text(words);
}

char *dw_arm_key_label(const char *label, const char *arm)
{
    return *arm ? dw_text_format("%s (%s)", label, arm) : dw_memory_text(label);
}

DwStatus dw_arm_key_check_name(const char *arm, DwMessage *message)
{
    size_t length = strlen(arm);
    bool plain = length && length <= NAME_MOST;
    for (const char *at = arm; *at && plain; at++)
        plain = (unsigned char)*at < 0x80 && (isalnum((unsigned char)*at) || strchr("-_.", *at));
    if (!plain)
        return dw_fail(message, DW_BAD_INPUT,
                       "\"%.*s\" cannot be an arm's name: use up to %d letters of A to Z, digits or hyphens "
                       "without a space, such as rear or 12-inch.",
                       dw_text_whole(arm, 60), arm, NAME_MOST);
    return DW_OK;
}

DwStatus dw_arm_key_check(const char *key, DwMessage *message)
{
    if (!strchr(key, '@'))
        return DW_OK;
    if (!dw_arm_key_is_arms(key))
        return dw_fail(message, DW_BAD_INPUT,
                       "\"%.*s\" is the deck's and no arm's: give it without the name behind it.",
                       dw_text_whole(key, 60), key);
    return dw_arm_key_check_name(dw_arm_key_name(key), message);
}

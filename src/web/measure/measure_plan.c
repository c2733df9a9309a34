// SPDX-License-Identifier: MIT
#include "web/measure/measure_form.h"

#include "base/memory.h"
#include "base/text.h"
#include "procedure/registry/data_table.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PLANS_MOST = 64 };

typedef struct {
    char *names[PLANS_MOST + 1]; // the first is the empty one
    size_t count;
} Plans;

static int by_name(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static char *folder(void)
{
    return dw_text_format("%s/plans", dw_data_folder());
}

// The plans that came with the program, by their names.
static Plans list_plans(void)
{
    Plans plans = {.names = {dw_memory_text("")}, .count = 1};
    char *path = folder();
    DIR *directory = opendir(path);
    struct dirent *entry;
    while (directory && plans.count <= PLANS_MOST && (entry = readdir(directory))) {
        const char *dot = strrchr(entry->d_name, '.');
        if (entry->d_name[0] != '.' && dot && (strcmp(dot, ".ini") == 0 || strcmp(dot, ".plan") == 0))
            plans.names[plans.count++] = dw_memory_text(entry->d_name);
    }
    if (directory)
        closedir(directory);
    free(path);
    qsort(plans.names, plans.count, sizeof *plans.names, by_name);
    return plans;
}

static void clear(Plans *plans)
{
    for (size_t i = 0; i < plans->count; i++)
        free(plans->names[i]);
}

bool dw_measure_plan_is(const char *key)
{
    return strcmp(key, "record.plan") == 0;
}

void dw_measure_plan_write(DwPage *page, const char *key, const char *label, const char *help, const char *chosen,
                           const char *wrong)
{
    DwHtml *html = page->html;
    Plans plans = list_plans();
    const char *words[PLANS_MOST + 1];
    for (size_t i = 0; i < plans.count; i++)
        words[i] = *plans.names[i] ? plans.names[i] : _("None");
    dw_form_choice(page, key, label, words, (const char *const *)plans.names, plans.count, chosen, help);
    clear(&plans);
    char id[24];
    snprintf(id, sizeof id, "plan-%u", page->fields++);
    dw_html_open(html, "div", "class", "field", NULL);
    dw_html_element(html, "label", _("Or a plan of your own"), "for", id, NULL);
    dw_html_void(html, "input", "type", "file", "id", id, "name", "plan", NULL);
    dw_page_words(page, wrong ? wrong : "", NULL, "wrong", false);
    dw_html_close(html, "div");
}

char *dw_measure_plan_path(const char *name)
{
    Plans plans = list_plans();
    bool found = false;
    for (size_t i = 0; i < plans.count && !found; i++)
        found = *name && strcmp(plans.names[i], name) == 0;
    clear(&plans);
    if (!found)
        return NULL;
    char *where = folder(), *path = dw_text_format("%s/%s", where, name);
    free(where);
    return path;
}

bool dw_measure_plan_find(const DwWebRequest *request, const char *key, char **path, char **name)
{
    DwSentFile file;
    const char *wanted = dw_request_field(request, key);
    *path = *name = NULL;
    if (dw_request_file(request, "plan", &file)) {
        *path = dw_memory_text(file.path);
        *name = dw_memory_text(file.name);
        return true;
    }
    *path = dw_measure_plan_path(wanted);
    if (*path)
        *name = dw_memory_text(wanted);
    return *path || !*wanted;
}

// SPDX-License-Identifier: MIT
// Drives a fuzz target as an ordinary test: replay FOLDER COUNT takes the files
// of FOLDER and then COUNT mutations of them, the same ones every time.
#include "target.h"

#include <dirent.h>
#include <stdio.h>

enum { SEEDS_MOST = 64, GROWTH_MOST = 64, CHANGES_MOST = 6 };

typedef struct {
    uint8_t *bytes;
    size_t count;
} Input;

// Source (published): G. Marsaglia, "Xorshift RNGs", J. Statistical Software 8 (2003) 14.
static uint64_t next_random(void)
{
    static uint64_t state = 88172645463325252u;
    state ^= state << 13;
    state ^= state >> 7;
    state ^= state << 17;
    return state;
}

static size_t below(size_t limit)
{
    return limit ? (size_t)(next_random() % limit) : 0;
}

static Input read_seed(const char *folder, const char *name)
{
    char path[1000];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "rb");
    TARGET_HOLDS(file && fseek(file, 0, SEEK_END) == 0);
    Input seed = {.count = (size_t)ftell(file)};
    rewind(file);
    seed.bytes = malloc(seed.count + 1);
    TARGET_HOLDS(seed.bytes && fread(seed.bytes, 1, seed.count, file) == seed.count);
    fclose(file);
    return seed;
}

static int by_name(const struct dirent **a, const struct dirent **b)
{
    return strcmp((*a)->d_name, (*b)->d_name);
}

static int is_seed(const struct dirent *entry)
{
    return entry->d_name[0] != '.';
}

// One change to INPUT, whose buffer has room to grow: a byte, a bit, a piece
// left out, a piece said twice, the end cut off. Half of them fall on the head.
static void change(Input *input)
{
    size_t reach = below(2) && input->count > 64 ? 64 : input->count, at = below(reach), span = 1 + below(8);
    if (at + span > input->count)
        span = input->count - at;
    switch (input->count ? below(6) : 0) {
    case 0:
        if (input->count)
            input->bytes[at] = (uint8_t)below(256);
        break;
    case 1:
        input->bytes[at] ^= (uint8_t)(1u << below(8));
        break;
    case 2:
        memmove(input->bytes + at, input->bytes + at + span, input->count - at - span);
        input->count -= span;
        break;
    case 3:
        memmove(input->bytes + at + span, input->bytes + at, input->count - at);
        input->count += span;
        break;
    case 4:
        memset(input->bytes + at, below(2) ? 0xff : 0, span);
        break;
    case 5:
        if (below(4) == 0)
            input->count = at;
        break;
    }
}

static void run_mutation(const Input *seed)
{
    Input input = {.bytes = malloc(seed->count + GROWTH_MOST), .count = seed->count};
    TARGET_HOLDS(input.bytes);
    memcpy(input.bytes, seed->bytes, seed->count);
    for (size_t changes = 1 + below(CHANGES_MOST); changes > 0; changes--)
        change(&input);
    LLVMFuzzerTestOneInput(input.bytes, input.count);
    free(input.bytes);
}

int main(int count, char **arguments)
{
    struct dirent **entries = NULL;
    int seeds = count == 3 ? scandir(arguments[1], &entries, is_seed, by_name) : 0;
    if (seeds < 1 || seeds > SEEDS_MOST) {
        fprintf(stderr, "replay FOLDER COUNT\n");
        return 2;
    }
    Input seed[SEEDS_MOST];
    printf("1..%d\n", seeds);
    int mutations = atoi(arguments[2]) / seeds;
    for (int i = 0; i < seeds; i++) {
        seed[i] = read_seed(arguments[1], entries[i]->d_name);
        LLVMFuzzerTestOneInput(seed[i].bytes, seed[i].count);
        for (int n = 0; n < mutations; n++)
            run_mutation(&seed[i]);
        printf("ok %d - %s and %d mutations of it\n", i + 1, entries[i]->d_name, mutations);
        free(seed[i].bytes);
        free(entries[i]);
    }
    free(entries);
    return 0;
}

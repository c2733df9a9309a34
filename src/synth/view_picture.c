// SPDX-License-Identifier: MIT
#include "synth/view_picture.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

enum { ACROSS = 3, TONES = 4096, NOISES = 1 << 16, MOMENTS = 4 };
static const double tone_power = 1 / 2.2; // of the brightness that a picture keeps, common practice

// The part of a picture in which a solid may be seen.
typedef struct {
    double left, top, right, foot;
} Frame;

static Frame frame_of(const DwViewCamera *camera, const DwSolid *solid)
{
    Frame frame = {INFINITY, INFINITY, -INFINITY, -INFINITY};
    for (int corner = 0; corner < 8; corner++) {
        double place[3], x, y;
        for (int i = 0; i < 3; i++)
            place[i] = solid->middle[i] + (corner & 1 ? 1 : -1) * solid->half[0] * solid->axes[0][i] +
                       (corner & 2 ? 1 : -1) * solid->half[1] * solid->axes[1][i] +
                       (corner & 4 ? 1 : -1) * solid->half[2] * solid->axes[2][i];
        dw_view_camera_see(camera, place, &x, &y);
        frame = (Frame){fmin(frame.left, x), fmin(frame.top, y), fmax(frame.right, x), fmax(frame.foot, y)};
    }
    const double margin = 3 + 0.02 * (frame.right - frame.left + frame.foot - frame.top); // what the lens bends
    return (Frame){frame.left - margin, frame.top - margin, frame.right + margin, frame.foot + margin};
}

static double light_along(const DwScene *scene, unsigned near, const double at[3], const double way[3])
{
    double far = -at[2] / way[2], least = far > 0 ? far : INFINITY, light = scene->beside, other;
    for (int i = 0; i < scene->solid_count; i++) {
        double met = near >> i & 1 ? dw_scene_meet(&scene->solids[i], at, way, &other) : INFINITY;
        if (met < least) {
            least = met;
            light = other;
        }
    }
    if (least < far || !(far > 0))
        return light;
    if (scene->belt.high_mm > 0 && dw_scene_belt_meets(&scene->belt, at, way))
        return 0.03; // rubber
    return dw_scene_paper(scene, at[0] + far * way[0], at[1] + far * way[1]);
}

// The mean of nine places in the pixel X, Y; within it a line of sight turns evenly.
static double pixel_light(const DwViewCamera *camera, const DwScene *scene, unsigned near, int x, int y)
{
    double middle[3], right[3], down[3], sum = 0;
    dw_view_camera_ray(camera, x + 0.5, y + 0.5, middle);
    dw_view_camera_ray(camera, x + 1.5, y + 0.5, right);
    dw_view_camera_ray(camera, x + 0.5, y + 1.5, down);
    for (int place = 0; place < ACROSS * ACROSS; place++) {
        double u = (place % ACROSS - 1) / (double)ACROSS, v = (place / ACROSS - 1) / (double)ACROSS, way[3];
        for (int i = 0; i < 3; i++)
            way[i] = middle[i] + u * (right[i] - middle[i]) + v * (down[i] - middle[i]);
        sum += light_along(scene, near, camera->at, way);
    }
    return sum / (ACROSS * ACROSS);
}

// A lens's blur: each pixel half its own, a quarter its neighbours', along rows or columns.
static void blur(float *light, int count, int lines, long step, long line_step)
{
    for (int line = 0; line < lines; line++) {
        float *p = light + line * line_step, before = p[0];
        for (int i = 0; i < count; i++, p += step) {
            float own = *p, after = i + 1 < count ? p[step] : own;
            *p = before / 4 + own / 2 + after / 4;
            before = own;
        }
    }
}

static uint8_t *tones(void)
{
    uint8_t *table = dw_memory_new(TONES, 1);
    for (int i = 0; i < TONES; i++)
        table[i] = (uint8_t)(255 * pow(i / (double)(TONES - 1), tone_power) + 0.5);
    return table;
}

static float *noises(DwViewSensor *sensor)
{
    float *table = dw_memory_new(NOISES, sizeof *table);
    for (int i = 0; i < NOISES; i++)
        table[i] = (float)(sensor->noise * dw_random_normal(&sensor->random));
    return table;
}

// Light to levels: blur, the lens's darker corners, tone and noise, which begins elsewhere in its table in each row.
static void expose(float *light, int width, int height, DwViewSensor *sensor, const uint8_t *tone, const float *noise,
                   uint8_t *pixels)
{
    blur(light, width, height, 1, width);
    blur(light, height, width, width, 1);
    double corner = width * (double)width / 4 + height * (double)height / 4;
    for (int y = 0; y < height; y++) {
        uint64_t from = dw_random_bits(&sensor->random);
        double dy = y - height / 2.0;
        for (int x = 0; x < width; x++) {
            double dx = x - width / 2.0, left = 1 - sensor->shading * (dx * dx + dy * dy) / corner;
            double bright = fmin(fmax(light[(long)y * width + x] * left, 0), 1);
            double level = tone[(int)(bright * (TONES - 1))] + (double)noise[(from + (uint64_t)x * 7) % NOISES];
            pixels[(long)y * width + x] = (uint8_t)fmin(fmax(level + 0.5, 0), 255);
        }
    }
}

void dw_view_photograph(const DwViewCamera *camera, const DwScene *scene, DwViewSensor *sensor, uint8_t *pixels)
{
    int width = camera->width, height = camera->height;
    float *light = dw_memory_new((size_t)width * (size_t)height, sizeof *light);
    Frame frames[DW_SOLIDS_MOST];
    for (int i = 0; i < scene->solid_count; i++)
        frames[i] = frame_of(camera, &scene->solids[i]);
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            unsigned near = 0;
            for (int i = 0; i < scene->solid_count; i++)
                if (x >= frames[i].left && x <= frames[i].right && y >= frames[i].top && y <= frames[i].foot)
                    near |= 1u << i;
            light[(long)y * width + x] = (float)pixel_light(camera, scene, near, x, y);
        }
    uint8_t *tone = tones();
    float *noise = noises(sensor);
    expose(light, width, height, sensor, tone, noise, pixels);
    free(light);
    free(tone);
    free(noise);
}

struct DwViewFilm {
    DwViewCamera camera;
    DwScene scene;
    DwViewTurning turning;
    DwViewSensor sensor;
    float *x, *y; // where each pixel's middle sees the platter's plane [mm]
    float *light;
    uint8_t *tone;
    float *noise;
};

DwViewFilm *dw_view_film_new(const DwViewCamera *camera, const DwScene *scene, const DwViewTurning *turning,
                             const DwViewSensor *sensor)
{
    DwViewFilm *film = dw_memory_new(1, sizeof *film);
    *film = (DwViewFilm){.camera = *camera, .scene = *scene, .turning = *turning, .sensor = *sensor};
    size_t count = (size_t)camera->width * (size_t)camera->height;
    film->x = dw_memory_new(count, sizeof *film->x);
    film->y = dw_memory_new(count, sizeof *film->y);
    film->light = dw_memory_new(count, sizeof *film->light);
    for (size_t i = 0; i < count; i++) {
        double way[3];
        dw_view_camera_ray(camera, (double)(i % (size_t)camera->width) + 0.5, (double)(i / (size_t)camera->width) + 0.5,
                           way);
        double far = way[2] > 0 ? -camera->at[2] / way[2] : INFINITY;
        film->x[i] = (float)(camera->at[0] + far * way[0]);
        film->y[i] = (float)(camera->at[1] + far * way[1]);
    }
    film->tone = tones();
    film->noise = noises(&film->sensor);
    return film;
}

void dw_view_film_free(DwViewFilm *film)
{
    if (!film)
        return;
    free(film->x);
    free(film->y);
    free(film->light);
    free(film->tone);
    free(film->noise);
    free(film);
}

// Four places of a pixel, no two in one row or column, and the order of the moments in which they are seen.
static const double places[MOMENTS][2] = {{-0.375, -0.125}, {-0.125, 0.375}, {0.125, -0.375}, {0.375, 0.125}};
static const int moments[MOMENTS] = {2, 0, 3, 1};

static double turned_light(const DwViewFilm *film, double x, double y, double c, double s)
{
    return dw_scene_paper(&film->scene, c * x + s * y - film->turning.off_mm, c * y - s * x);
}

static void render_row(DwViewFilm *film, int y, double seconds)
{
    int width = film->camera.width;
    long below = y + 1 < film->camera.height ? width : -width, sign = below > 0 ? 1 : -1;
    double reach = film->scene.paper.cut_mm + 5, c[MOMENTS], s[MOMENTS];
    for (int m = 0; m < MOMENTS; m++) {
        double angle =
            film->turning.angle(seconds + film->turning.exposure_s * (moments[m] + 0.5) / MOMENTS, film->turning.user);
        c[m] = cos(angle);
        s[m] = sin(angle);
    }
    for (int x = 0; x < width; x++) {
        long i = (long)y * width + x, beside = x + 1 < width ? i + 1 : i - 1, side = beside - i;
        double px = film->x[i], py = film->y[i], sum = 0;
        film->light[i] = (float)film->scene.beside;
        if (!(px * px + py * py < reach * reach))
            continue;
        double across[2] = {side * (film->x[beside] - px), side * (film->y[beside] - py)};
        double along[2] = {sign * (film->x[i + below] - px), sign * (film->y[i + below] - py)};
        for (int m = 0; m < MOMENTS; m++)
            sum += turned_light(film, px + places[m][0] * across[0] + places[m][1] * along[0],
                                py + places[m][0] * across[1] + places[m][1] * along[1], c[m], s[m]);
        film->light[i] = (float)(sum / MOMENTS);
    }
}

void dw_view_film_frame(DwViewFilm *film, double seconds, uint8_t *pixels)
{
    int height = film->camera.height;
    for (int y = 0; y < height; y++)
        render_row(film, y, seconds + film->turning.readout_s * y / height);
    expose(film->light, film->camera.width, height, &film->sensor, film->tone, film->noise, pixels);
}

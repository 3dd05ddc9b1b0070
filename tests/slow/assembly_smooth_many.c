/* The bands of tests/unit/assembly_smooth.c at more seeds. */
#define SMOOTH_SEEDS 40
#define SMOOTH_SUITE suite_assembly_smooth_many
#define SMOOTH_NAME "assembly_smooth_many"
#include "../unit/assembly_smooth.c"

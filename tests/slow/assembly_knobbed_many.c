/* The planted groups of tests/unit/assembly_knobbed.c on more sheets. */
#define KNOBBED_SEEDS 8
#define KNOBBED_SUITE suite_assembly_knobbed_many
#define KNOBBED_NAME "assembly_knobbed_many"
#include "../unit/assembly_knobbed.c"

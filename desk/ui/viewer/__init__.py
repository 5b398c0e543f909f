"""The viewer: shows and plays a scene, the film, or raw footage, as an assembly has it."""

package lint

import "github.com/cueproof/cueproof/loaders"

// ReadAll reads several paths as one show, in the words of the house of the first.
func ReadAll(paths []string, o Options) (loaders.Result, error) {
	setup, err := SetUp(paths[0], o)
	if err != nil {
		return loaders.Result{}, err
	}
	loaded, err := loaders.LoadAll(paths, o.reading(setup))
	for _, file := range loaded.Files {
		o.read(file.Name)
	}
	return loaded, err
}

// IsJSON reports whether a name is that of a JSON file.
func IsJSON(name string) bool { return loaders.IsJSON(name) }

// IsPhotometry reports whether a name is that of a photometric file.
func IsPhotometry(name string) bool { return loaders.IsPhotometry(name) }

package main

import (
	"encoding/json"
	"strings"
)

// mergePatch is the media type of merge patches (RFC 7396, section 4).
const mergePatch = "application/merge-patch+json"

// addPatches gives each operation that takes a merge patch, which swag knows as
// JSON, its media type and the schema of a patch: what is sent of a new record,
// without its id, and with nothing that must be there. Errors: those of package
// json.
func (d *document) addPatches() error {
	for _, op := range d.operations() {
		content := in(op.body, "requestBody", "content")
		body := in(content, "application/json")
		if op.method != "patch" || body == nil {
			continue
		}
		whole := strings.TrimPrefix(text(in(body, "schema")["$ref"]), schemaPrefix)
		patch, err := d.patchOf(whole)
		if err != nil {
			return err
		}
		name := strings.TrimPrefix(whole, "New") + "Patch"
		d.schemas()[name] = patch
		in(op.body, "requestBody")["content"] = object{mergePatch: object{"schema": object{"$ref": schemaPrefix + name}}}
	}
	return nil
}

// patchOf is the schema of a patch of what is sent as that schema. Errors: those
// of package json.
func (d *document) patchOf(whole string) (object, error) {
	body, err := json.Marshal(in(d.schemas(), whole))
	if err != nil {
		return nil, err
	}
	var patch object
	if err := json.Unmarshal(body, &patch); err != nil {
		return nil, err
	}
	delete(patch, "required")
	delete(in(patch, "properties"), "id")
	patch["description"] = "What changes; what is left out stays, and null takes a member away (RFC 7396)."
	return patch, nil
}

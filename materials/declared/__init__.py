"""Environmental declarations (ILCD+EPD), read and written; `materials.declared.declarations` is the front door."""

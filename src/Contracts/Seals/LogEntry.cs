namespace Contracts.Seals;

/// <summary>
/// What a leaf of the log commits to, in version 1 ("lv1", docs/seals.md): a flat object in canonical JSON, exactly the
/// members of its kind. The bytes of version 1 never change; another layout is another version beside it.
/// </summary>
public abstract record LogEntry
{
    /// <summary>The version that is written.</summary>
    public const int Version = 1;

    /// <summary>How many bytes an entry may have, so that bundles of C2SP tlog-tiles can hold it.</summary>
    public const int Longest = EntryBundle.LongestEntry;

    /// <summary>The word for the kind in the entry.</summary>
    public abstract string Kind { get; }

    /// <summary>The canonical bytes: what the leaf hash is over.</summary>
    public byte[] ToBytes()
    {
        var writer = new EntryWriter();
        Write(writer);
        return writer.Finish();
    }

    /// <summary>The hash of the entry as a leaf: SHA-256(00 || bytes).</summary>
    public Digest LeafHash() => MerkleTree.LeafHash(ToBytes());

    /// <summary>
    /// Reads an entry of any kind. It is strict: a missing or unknown member, another version, or a spelling that is not
    /// the canonical one is refused, so that an entry has one form and its hash one meaning.
    /// </summary>
    public static Parsed<LogEntry> Parse(ReadOnlySpan<byte> bytes)
    {
        if (!EntryReader.Of(bytes).TryGet(out var fields, out var fault)) { return fault; }
        LogEntry? entry = fields.Kind switch
        {
            EventEntry.Word => EventEntry.Of(fields),
            HeadEntry.Word => HeadEntry.Of(fields),
            AnchorEntry.Word => AnchorEntry.Of(fields),
            AccessEntry.Word => AccessEntry.Of(fields),
            ErasureEntry.Word => ErasureEntry.Of(fields),
            KeyEntry.Word => KeyEntry.Of(fields),
            IncidentEntry.Word => IncidentEntry.Of(fields),
            _ => null,
        };
        if (entry is null) { return new SealFault(SealFaultKind.EntryKindUnknown, $"There is no entry of the kind '{fields.Kind}'."); }
        if (fields.Finish() is { } wrong) { return wrong; }
        return bytes.SequenceEqual(entry.ToBytes())
            ? entry
            : new SealFault(SealFaultKind.JsonNotCanonical, "The entry says the same in canonical form with other bytes.");
    }

    /// <summary>Reads an entry that must be of one kind.</summary>
    public static Parsed<T> Parse<T>(ReadOnlySpan<byte> bytes)
        where T : LogEntry
    {
        if (!Parse(bytes).TryGet(out var entry, out var fault)) { return fault; }
        return entry is T wanted ? wanted : new SealFault(SealFaultKind.EntryKindUnknown, $"The entry is of the kind '{entry.Kind}'.");
    }

    /// <summary>Writes the members in the order of their names.</summary>
    internal abstract void Write(EntryWriter writer);
}

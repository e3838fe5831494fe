namespace Contracts.Seals;

/// <summary>The last event of a stream at an anchor: a leaf of the map of heads, not of the log.</summary>
public sealed record HeadEntry : LogEntry
{
    internal const string Word = "head";

    public override string Kind => Word;

    public required string Tenant { get; init; }

    public required string Stream { get; init; }

    /// <summary>How many events the stream has.</summary>
    public required long StreamVersion { get; init; }

    /// <summary>The index in the log of the last event's leaf.</summary>
    public required long Index { get; init; }

    /// <summary>The hash of that leaf.</summary>
    public required Digest Leaf { get; init; }

    /// <summary>What heads are sorted by, byte for byte: the tenant, a zero byte, the stream, in UTF-8.</summary>
    public byte[] Key() => KeyOf(Tenant, Stream);

    /// <summary>The key that a stream's head has or would have.</summary>
    public static byte[] KeyOf(string tenant, string stream) => [.. StrictUtf8.Bytes(tenant), 0, .. StrictUtf8.Bytes(stream)];

    internal static HeadEntry Of(EntryReader fields) => new()
    {
        Tenant = fields.Text("tenant"),
        Stream = fields.Text("stream"),
        StreamVersion = fields.Count("ver"),
        Index = fields.Count("index"),
        Leaf = fields.Hash("leaf"),
    };

    internal override void Write(EntryWriter writer)
    {
        writer.Count("index", Index);
        writer.Text("kind", Word);
        writer.Hash("leaf", Leaf);
        writer.Text("stream", Stream);
        writer.Text("tenant", Tenant);
        writer.Version();
        writer.Count("ver", StreamVersion);
    }
}

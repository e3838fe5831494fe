using NodaTime;

namespace Contracts.Seals;

/// <summary>The records of who read what, for a span of time: their number and one digest over all of them.</summary>
public sealed record AccessEntry : LogEntry
{
    internal const string Word = "access";

    public override string Kind => Word;

    public required string Log { get; init; }

    public required Instant At { get; init; }

    /// <summary>The records are from this moment...</summary>
    public required Instant From { get; init; }

    /// <summary>...to before this one.</summary>
    public required Instant Until { get; init; }

    public required long Count { get; init; }

    /// <summary>SHA-256 of the canonical JSON of the records, an array.</summary>
    public required Digest Records { get; init; }

    internal static AccessEntry Of(EntryReader fields) => new()
    {
        Log = fields.Text("log"),
        At = fields.At("at"),
        From = fields.At("from"),
        Until = fields.At("until"),
        Count = fields.Count("count"),
        Records = fields.Hash("records"),
    };

    internal override void Write(EntryWriter writer)
    {
        writer.At("at", At);
        writer.Count("count", Count);
        writer.At("from", From);
        writer.Text("kind", Word);
        writer.Text("log", Log);
        writer.Hash("records", Records);
        writer.At("until", Until);
        writer.Version();
    }
}

/// <summary>That a subject's keys and personal data were destroyed, and on what basis; the subject is an opaque reference.</summary>
public sealed record ErasureEntry : LogEntry
{
    internal const string Word = "erasure";

    public override string Kind => Word;

    public required string Log { get; init; }

    public required Instant At { get; init; }

    public required string Tenant { get; init; }

    public required string Subject { get; init; }

    public required string Basis { get; init; }

    internal static ErasureEntry Of(EntryReader fields) => new()
    {
        Log = fields.Text("log"),
        At = fields.At("at"),
        Tenant = fields.Text("tenant"),
        Subject = fields.Text("subject"),
        Basis = fields.Text("basis"),
    };

    internal override void Write(EntryWriter writer)
    {
        writer.At("at", At);
        writer.Text("basis", Basis);
        writer.Text("kind", Word);
        writer.Text("log", Log);
        writer.Text("subject", Subject);
        writer.Text("tenant", Tenant);
        writer.Version();
    }
}

/// <summary>Something that went wrong and was put right, as a digest of the report that names rows, people and digests.</summary>
public sealed record IncidentEntry : LogEntry
{
    internal const string Word = "incident";

    public override string Kind => Word;

    public required string Log { get; init; }

    public required Instant At { get; init; }

    /// <summary>A short code for what happened.</summary>
    public required string Reason { get; init; }

    /// <summary>SHA-256 of the canonical JSON of the report.</summary>
    public required Digest Report { get; init; }

    internal static IncidentEntry Of(EntryReader fields) => new()
    {
        Log = fields.Text("log"),
        At = fields.At("at"),
        Reason = fields.Text("reason"),
        Report = fields.Hash("report"),
    };

    internal override void Write(EntryWriter writer)
    {
        writer.At("at", At);
        writer.Text("kind", Word);
        writer.Text("log", Log);
        writer.Text("reason", Reason);
        writer.Hash("report", Report);
        writer.Version();
    }
}

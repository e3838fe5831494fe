using NodaTime;

namespace Contracts.Seals;

/// <summary>
/// A new key of the log. The old key says so itself, in a signed note inside the entry: who holds the old key needs
/// nobody else to trust the new one.
/// </summary>
public sealed record KeyEntry : LogEntry
{
    internal const string Word = "key";

    public override string Kind => Word;

    public required string Log { get; init; }

    public required Instant At { get; init; }

    /// <summary>The new key as a vkey.</summary>
    public required string VKey { get; init; }

    /// <summary>A note over <see cref="Statement"/>, signed by the old key.</summary>
    public required string Note { get; init; }

    /// <summary>The text that the old key signs.</summary>
    public static string Statement(string log, Instant at, string vkey) =>
        $"contracts/key/v1\n{log}\n{EntryWriter.Moment.Format(at)}\n{vkey}\n";

    /// <summary>The new key, if the old one has signed for it.</summary>
    public Parsed<NoteVerifier> Verify(NoteVerifier old)
    {
        if (!SignedNote.Parse(StrictUtf8.Bytes(Note)).TryGet(out var note, out var fault)) { return fault; }
        if (!note.Open(old).TryGet(out _, out fault)) { return fault; }
        return string.Equals(note.Text, Statement(Log, At, VKey), StringComparison.Ordinal)
            ? NoteVerifier.Parse(VKey)
            : new SealFault(SealFaultKind.NoteMalformed, "The old key has signed for another key, log or time.");
    }

    internal static KeyEntry Of(EntryReader fields) => new()
    {
        Log = fields.Text("log"),
        At = fields.At("at"),
        VKey = fields.Text("vkey"),
        Note = fields.Text("note"),
    };

    internal override void Write(EntryWriter writer)
    {
        writer.At("at", At);
        writer.Text("kind", Word);
        writer.Text("log", Log);
        writer.Text("note", Note);
        writer.Version();
        writer.Text("vkey", VKey);
    }
}

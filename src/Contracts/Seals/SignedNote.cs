using System.Buffers.Binary;

namespace Contracts.Seals;

/// <summary>One signature line of a note: whose it says it is, and the bytes behind the key id.</summary>
public sealed record NoteSignature(string Name, uint KeyId, ReadOnlyMemory<byte> Signature)
{
    /// <summary>The line, with its newline.</summary>
    public override string ToString()
    {
        var bytes = new byte[4 + Signature.Length];
        BinaryPrimitives.WriteUInt32BigEndian(bytes, KeyId);
        Signature.CopyTo(bytes.AsMemory(4));
        return $"{SignedNote.LineStart}{Name} {Convert.ToBase64String(bytes)}\n";
    }

    public bool IsBy(NoteVerifier verifier) => KeyId == verifier.KeyId && string.Equals(Name, verifier.Name, StringComparison.Ordinal);
}

/// <summary>
/// A signed note (C2SP signed-note): a text that ends in a newline, an empty line, signature lines. Reading a note says
/// nothing about its signatures; the text counts only after <see cref="Open"/>.
/// </summary>
public sealed record SignedNote(string Text, IReadOnlyList<NoteSignature> Signatures)
{
    /// <summary>An em dash and a space begin a signature line.</summary>
    internal const string LineStart = "\u2014 ";

    /// <summary>How many signatures a note may have; the specification asks for at least 16.</summary>
    public const int MostSignatures = 100;

    /// <summary>How many bytes a note may have.</summary>
    public const int LargestInput = 1_000_000;

    /// <summary>A note over the text, which must end in a newline.</summary>
    public static SignedNote Of(string text, params IEnumerable<NoteSignature> signatures) => IsText(text)
        ? new SignedNote(text, [.. signatures])
        : throw new ArgumentException("The text of a note ends in a newline and has no other control characters.", nameof(text));

    /// <summary>The note with one more signature line at the end.</summary>
    public SignedNote With(NoteSignature signature) => this with { Signatures = [.. Signatures, signature] };

    /// <summary>Reads a note, byte for byte as <see cref="ToBytes"/> writes it.</summary>
    public static Parsed<SignedNote> Parse(ReadOnlySpan<byte> bytes)
    {
        if (bytes.Length > LargestInput) { return new SealFault(SealFaultKind.NoteTooLarge, $"A note has at most {LargestInput} bytes."); }
        if (StrictUtf8.Text(bytes) is not { } all || !IsText(all)) { return Malformed("is UTF-8, ends in a newline and has no other control characters"); }
        // The text may have empty lines: the last one divides.
        var split = all.LastIndexOf("\n\n", StringComparison.Ordinal);
        if (split < 0 || split + 2 == all.Length) { return Malformed("has signature lines behind an empty line"); }
        var lines = all[(split + 2)..^1].Split('\n');
        if (lines.Length > MostSignatures) { return new SealFault(SealFaultKind.NoteTooLarge, $"A note has at most {MostSignatures} signatures."); }
        var signatures = new List<NoteSignature>(lines.Length);
        foreach (var line in lines)
        {
            if (Signature(line) is not { } signature) { return Malformed("has signature lines of a dash, a name and base64"); }
            signatures.Add(signature);
        }

        return new SignedNote(all[..(split + 1)], signatures);
    }

    public byte[] ToBytes() => StrictUtf8.Bytes(ToString());

    public override string ToString() => $"{Text}\n{string.Concat(Signatures)}";

    /// <summary>
    /// Holds the note against known keys. Lines of unknown keys are passed over, as the specification demands, also when
    /// they share a name or an id with a known key; one wrong signature of a known key refuses the whole note.
    /// </summary>
    public Parsed<IReadOnlyList<NoteVerifier>> Open(params IEnumerable<NoteVerifier> known)
    {
        var text = StrictUtf8.Bytes(Text);
        var found = new List<NoteVerifier>();
        foreach (var verifier in known)
        {
            var own = Signatures.Where(signature => signature.IsBy(verifier)).ToList();
            if (own.Exists(signature => !verifier.Verify(text, signature.Signature.Span)))
            {
                return new SealFault(SealFaultKind.SignatureWrong, $"The signature of {verifier.Name} is not over this text.");
            }

            if (own.Count > 0) { found.Add(verifier); }
        }

        return found.Count > 0
            ? found.AsReadOnly()
            : new SealFault(SealFaultKind.SignatureUnknown, "No known key has signed the note.");
    }

    public bool Equals(SignedNote? other) => other is not null && string.Equals(ToString(), other.ToString(), StringComparison.Ordinal);

    public override int GetHashCode() => Text.GetHashCode(StringComparison.Ordinal);

    private static bool IsText(string text) => text.EndsWith('\n') && !text.Any(letter => letter < ' ' && letter != '\n');

    private static NoteSignature? Signature(string line)
    {
        if (!line.StartsWith(LineStart, StringComparison.Ordinal)) { return null; }
        var parts = line[LineStart.Length..].Split(' ');
        if (parts.Length != 2 || !NoteVerifier.IsName(parts[0])) { return null; }
        return Base64Text.Read(parts[1]) is { Length: > 4 } bytes
            ? new NoteSignature(parts[0], BinaryPrimitives.ReadUInt32BigEndian(bytes), bytes.AsMemory(4))
            : null;
    }

    private static SealFault Malformed(string rule) => new(SealFaultKind.NoteMalformed, $"A signed note {rule}.");
}

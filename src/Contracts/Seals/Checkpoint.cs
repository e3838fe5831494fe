using System.Globalization;

namespace Contracts.Seals;

/// <summary>
/// The head of a log as C2SP tlog-checkpoint writes it: origin, number of leaves, root. Extension lines are not written,
/// and refused unless they are asked for: no witness looks at them.
/// </summary>
public sealed record Checkpoint(string Origin, long Size, Digest Root)
{
    /// <summary>Lines behind the root, without newlines; a log of ours has none.</summary>
    public IReadOnlyList<string> Extensions { get; init; } = [];

    /// <summary>The text that is signed.</summary>
    public string Text => string.Create(CultureInfo.InvariantCulture,
        $"{Origin}\n{Size}\n{Root.ToBase64()}\n{string.Concat(Extensions.Select(line => line + "\n"))}");

    /// <summary>
    /// Reads the text of a checkpoint. Stricter than the specification in three points: the root has exactly 32 bytes,
    /// an empty log has the root of the empty tree, extension lines are there only where the caller allows them.
    /// </summary>
    public static Parsed<Checkpoint> Parse(string text, bool allowExtensions = false)
    {
        if (!text.EndsWith('\n')) { return Malformed("ends in a newline"); }
        var lines = text[..^1].Split('\n');
        if (lines.Length < 3 || lines.Any(line => line.Length == 0)) { return Malformed("has three lines and no empty ones"); }
        if (Decimal(lines[1]) is not { } size) { return Malformed("has a size in digits without leading zeros"); }
        if (!Digest.TryParseBase64(lines[2], out var root)) { return Malformed("has a root of 32 bytes in base64"); }
        if (size == 0 && root != MerkleTree.EmptyRoot) { return Malformed("of size 0 has the root of the empty tree"); }
        if (lines.Length > 3 && !allowExtensions) { return Malformed("of this log has no extension lines"); }
        return new Checkpoint(lines[0], size, root) { Extensions = lines[3..] };
    }

    /// <summary>
    /// Opens a signed checkpoint: the log's own signature must be there and right, its key named as the origin. Right
    /// signatures of <paramref name="others"/> (witnesses) are told as well; a wrong one refuses the checkpoint.
    /// </summary>
    public static Parsed<SignedCheckpoint> Open(ReadOnlySpan<byte> note, NoteVerifier log, params IEnumerable<NoteVerifier> others)
    {
        if (!SignedNote.Parse(note).TryGet(out var signed, out var fault)) { return fault; }
        if (!signed.Open(others.Prepend(log)).TryGet(out var keys, out fault)) { return fault; }
        if (!keys.Contains(log)) { return new SealFault(SealFaultKind.SignatureUnknown, $"The log {log.Name} has not signed the checkpoint."); }
        if (!Parse(signed.Text).TryGet(out var checkpoint, out fault)) { return fault; }
        return string.Equals(checkpoint.Origin, log.Name, StringComparison.Ordinal)
            ? new SignedCheckpoint(checkpoint, signed, keys)
            : new SealFault(SealFaultKind.OriginDiffers, $"The checkpoint is of {checkpoint.Origin}, the key of {log.Name}.");
    }

    public bool Equals(Checkpoint? other) => other is not null && string.Equals(Text, other.Text, StringComparison.Ordinal);

    public override int GetHashCode() => Text.GetHashCode(StringComparison.Ordinal);

    /// <summary>A whole number from 0 to 2^63-1 in ASCII digits without leading zeros, or null.</summary>
    public static long? Decimal(string text) =>
        long.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var value)
        && string.Equals(value.ToString(CultureInfo.InvariantCulture), text, StringComparison.Ordinal) ? value : null;

    private static SealFault Malformed(string rule) => new(SealFaultKind.CheckpointMalformed, $"A checkpoint {rule}.");
}

/// <summary>A checkpoint whose signatures were held against known keys, the note it came in and the keys that signed it.</summary>
public sealed record SignedCheckpoint(Checkpoint Checkpoint, SignedNote Note, IReadOnlyList<NoteVerifier> SignedBy);

using System.Globalization;
using System.Text;

namespace Contracts.Seals;

/// <summary>
/// A proof that stands alone (C2SP tlog-proof): the index of an entry, the hashes to the root, and the signed
/// checkpoint with that root, as text. <see cref="Extra"/> is carried but not authenticated; nothing may rest on it.
/// </summary>
public sealed record TlogProof(long Index, IReadOnlyList<Digest> Path, string CheckpointNote)
{
    private const string Header = "c2sp.org/tlog-proof@v1";

    /// <summary>How many hashes a proof may have: no tree of 2^63 leaves is higher.</summary>
    private const int MostHashes = 63;

    public ReadOnlyMemory<byte>? Extra { get; init; }

    public override string ToString()
    {
        var text = new StringBuilder().Append(Header).Append('\n');
        if (Extra is { } extra) { text.Append("extra ").Append(Convert.ToBase64String(extra.Span)).Append('\n'); }
        text.Append(CultureInfo.InvariantCulture, $"index {Index}\n");
        foreach (var hash in Path) { text.Append(hash.ToBase64()).Append('\n'); }
        return text.Append('\n').Append(CheckpointNote).ToString();
    }

    public byte[] ToBytes() => StrictUtf8.Bytes(ToString());

    /// <summary>Reads a proof; the checkpoint in it is taken verbatim and not yet read.</summary>
    public static Parsed<TlogProof> Parse(ReadOnlySpan<byte> bytes)
    {
        if (bytes.Length > SignedNote.LargestInput || StrictUtf8.Text(bytes) is not { } text) { return Malformed("is UTF-8 of bounded size"); }
        var split = text.IndexOf("\n\n", StringComparison.Ordinal);
        if (split < 0 || split + 2 == text.Length) { return Malformed("has a checkpoint behind an empty line"); }
        var lines = new Queue<string>(text[..split].Split('\n'));
        if (!string.Equals(lines.Dequeue(), Header, StringComparison.Ordinal)) { return Malformed($"begins with {Header}"); }
        byte[]? extra = null;
        if (Field(lines, "extra ") is { } carried && (extra = Base64Text.Read(carried)) is null) { return Malformed("has its extra data in base64"); }
        if (Field(lines, "index ") is not { } digits || Checkpoint.Decimal(digits) is not { } index) { return Malformed("has an index"); }
        if (lines.Count > MostHashes) { return Malformed($"has at most {MostHashes} hashes"); }
        var path = new List<Digest>(lines.Count);
        foreach (var line in lines)
        {
            if (!Digest.TryParseBase64(line, out var hash)) { return Malformed("has hashes of 32 bytes in base64"); }
            path.Add(hash);
        }

        var proof = new TlogProof(index, path, text[(split + 2)..]);
        return extra is null ? proof : proof with { Extra = extra };
    }

    /// <summary>The checkpoint under which the leaf stands at the index, or what is wrong with proof or signature.</summary>
    public Parsed<SignedCheckpoint> Verify(Digest leafHash, NoteVerifier log, params IEnumerable<NoteVerifier> others) =>
        Checkpoint.Open(StrictUtf8.Bytes(CheckpointNote), log, others).TryGet(out var signed, out var fault)
        && (fault = Verify(leafHash, signed.Checkpoint)) is null ? signed : fault!;

    /// <summary>What is wrong with the proof under a checkpoint that was opened already, or null.</summary>
    public SealFault? Verify(Digest leafHash, Checkpoint checkpoint) =>
        new InclusionProof(Index, checkpoint.Size, Path).Verify(leafHash, checkpoint.Root);

    private static string? Field(Queue<string> lines, string name) =>
        lines.TryPeek(out var line) && line.StartsWith(name, StringComparison.Ordinal) ? lines.Dequeue()[name.Length..] : null;

    private static SealFault Malformed(string rule) => new(SealFaultKind.ProofMalformed, $"A proof {rule}.");
}

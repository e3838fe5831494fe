namespace Contracts.Seals;

/// <summary>
/// Whom to trust (C2SP tlog-policy): logs, witnesses, and which witnesses must have signed. URLs are passed over. The
/// file is the reader's own; one that comes with a bundle must be held against a key published elsewhere.
/// </summary>
public sealed class TlogPolicy
{
    private const string None = "none";

    /// <summary>How many logs, witnesses and groups together a policy may have; the specification asks for 32 of each.</summary>
    private const int MostNames = 256;

    private readonly Dictionary<string, NoteVerifier> witnesses = new(StringComparer.Ordinal);
    private readonly Dictionary<string, (int Needed, string[] Members)> groups = new(StringComparer.Ordinal);
    private readonly HashSet<string> members = new(StringComparer.Ordinal);
    private readonly List<NoteVerifier> logs = [];
    private string? quorum;

    private TlogPolicy()
    {
    }

    public IReadOnlyList<NoteVerifier> Logs => logs;

    /// <summary>The witnesses by the names that the file gives them.</summary>
    public IReadOnlyDictionary<string, NoteVerifier> Witnesses => witnesses;

    /// <summary>Reads a policy file: lines of log, witness, group and quorum, empty lines and comments.</summary>
    public static Parsed<TlogPolicy> Parse(ReadOnlySpan<byte> bytes)
    {
        if (bytes.Length > SignedNote.LargestInput || StrictUtf8.Text(bytes) is not { } text) { return Malformed(0, "the file is not UTF-8 of bounded size"); }
        if (text.Any(letter => letter is < ' ' and not '\t' and not '\n' or '\u007f')) { return Malformed(0, "the file has control characters"); }
        var policy = new TlogPolicy();
        var number = 0;
        foreach (var line in text.Split('\n'))
        {
            number++;
            var items = line.Split([' ', '\t'], StringSplitOptions.RemoveEmptyEntries);
            if (items.Length == 0 || items[0][0] == '#') { continue; }
            if (policy.Read(items) is { } wrong) { return Malformed(number, wrong); }
        }

        return policy.quorum is null ? Malformed(number, "there is no quorum line") : policy;
    }

    /// <summary>The checkpoint in the note, if a listed log and the quorum of witnesses have signed it.</summary>
    public Parsed<SignedCheckpoint> Open(ReadOnlySpan<byte> note)
    {
        if (!SignedNote.Parse(note).TryGet(out var signed, out var fault)) { return fault; }
        if (!signed.Open(logs.Concat(witnesses.Values)).TryGet(out var keys, out fault)) { return fault; }
        if (!Checkpoint.Parse(signed.Text).TryGet(out var checkpoint, out fault)) { return fault; }
        if (!logs.Any(log => keys.Contains(log) && string.Equals(log.Name, checkpoint.Origin, StringComparison.Ordinal)))
        {
            return new SealFault(SealFaultKind.OriginDiffers, $"No log of the policy is {checkpoint.Origin} and has signed.");
        }

        return Holds(quorum!, keys)
            ? new SignedCheckpoint(checkpoint, signed, keys)
            : new SealFault(SealFaultKind.QuorumMissed, $"The witnesses of the quorum {quorum} have not signed.");
    }

    private bool Holds(string name, IReadOnlyList<NoteVerifier> keys)
    {
        if (name == None) { return true; }
        if (witnesses.TryGetValue(name, out var witness)) { return keys.Contains(witness); }
        var (needed, parts) = groups[name];
        return parts.Count(part => Holds(part, keys)) >= needed;
    }

    /// <summary>Takes one line; what is wrong with it, or null.</summary>
    private string? Read(string[] items) => logs.Count + witnesses.Count + groups.Count > MostNames ? $"there are more than {MostNames} names" : items switch
    {
        ["log", var vkey, ..] when items.Length <= 3 => Log(vkey),
        ["witness", var name, var vkey, ..] when items.Length <= 4 => Witness(name, vkey),
        ["group", var name, var needed, .. var parts] when parts.Length > 0 => Group(name, needed, parts),
        ["quorum", var name] => Quorum(name),
        _ => "the line is none of log, witness, group and quorum, or has not their items",
    };

    private string? Log(string vkey)
    {
        if (!NoteVerifier.Parse(vkey).TryGet(out var key, out var fault)) { return fault.Detail; }
        if (key.Type != NoteKeyType.Ed25519) { return "the key of a log is of type 01"; }
        if (logs.Exists(other => Same(other, key))) { return "a log's key is there already"; }
        logs.Add(key);
        return null;
    }

    private string? Witness(string name, string vkey)
    {
        if (!NoteVerifier.Parse(vkey).TryGet(out var key, out var fault)) { return fault.Detail; }
        if (key.Type != NoteKeyType.Cosignature) { return "the key of a witness is of type 04"; }
        if (IsTaken(name)) { return $"the name {name} is taken"; }
        if (witnesses.Values.Any(other => Same(other, key))) { return "a witness's key is there already"; }
        witnesses.Add(name, key);
        return null;
    }

    private string? Group(string name, string count, string[] parts)
    {
        if (IsTaken(name)) { return $"the name {name} is taken"; }
        // A witness counts in one way only, so a name is a member once in the whole file.
        foreach (var part in parts)
        {
            if (!IsDefined(part) || !members.Add(part)) { return $"{part} is not defined above, or is a member already"; }
        }

        var needed = count switch { "any" => 1, "all" => parts.Length, _ => Checkpoint.Decimal(count) ?? 0 };
        if (needed < 1 || needed > parts.Length) { return "the number that a group needs is between 1 and its members"; }
        groups.Add(name, ((int)needed, parts));
        return null;
    }

    private string? Quorum(string name)
    {
        if (quorum is not null) { return "there is a quorum already"; }
        if (name != None && !IsDefined(name)) { return $"{name} is not defined above"; }
        quorum = name;
        return null;
    }

    private bool IsDefined(string name) => witnesses.ContainsKey(name) || groups.ContainsKey(name);

    private bool IsTaken(string name) => name == None || IsDefined(name);

    private static bool Same(NoteVerifier left, NoteVerifier right) => left.PublicKey.Span.SequenceEqual(right.PublicKey.Span);

    private static SealFault Malformed(int line, string detail) => new(SealFaultKind.PolicyMalformed, $"Line {line} of the policy: {detail}.");
}

using System.Security.Cryptography;
using System.Text;
using Contracts.Seals;

namespace Contracts.Store.Seals;

/// <summary>
/// The files of one log's signer, which only their owner may read: the key, its public side, the journal of everything
/// signed, and the last head once more by itself. A line of the journal is on the disk before it counts.
/// </summary>
internal sealed class SignerFolder(string folder, Action<SealStep> step)
{
    private const UnixFileMode OwnFolder = UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute;
    /// <summary>Some hundred lines.</summary>
    private const int TailLength = 8192;

    private const UnixFileMode OwnFile = UnixFileMode.UserRead | UnixFileMode.UserWrite;
    private const UnixFileMode Others = UnixFileMode.GroupRead | UnixFileMode.GroupWrite | UnixFileMode.GroupExecute
        | UnixFileMode.OtherRead | UnixFileMode.OtherWrite | UnixFileMode.OtherExecute;

    /// <summary>Keys that anyone can look up: RFC 8032, section 7.1, a Go package and a log made for tests, and 32 zeros.</summary>
    private static readonly HashSet<string> Published = new(StringComparer.Ordinal)
    {
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "278117fc144c72340f67d0f2316e8386ceffbf2b2428c9c51fef7c597f1d426e",
        "ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
        "1a5cd907143c384c41e830c5bce12aa8817ec5649aaabf2c31388b35b2d744d6",
        "e1d3bb843784420c1cda9ce9f01232cab7aca371dbcd0d23ea0ee710859244b1",
        Convert.ToHexStringLower(Ed25519.PublicKey(new byte[Ed25519.SeedLength])),
    };

    private string KeyFile => Path.Combine(folder, "key");

    private string PublicFile => Path.Combine(folder, "key.pub");

    private string StateFile => Path.Combine(folder, "state");

    private string JournalFile => Path.Combine(folder, "journal");

    public bool HasKey => File.Exists(KeyFile);

    /// <summary>Keeps every other signer out for as long as the answer is open.</summary>
    public FileStream Lock()
    {
        try
        {
            return new FileStream(Path.Combine(folder, "lock"), FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None);
        }
        catch (IOException)
        {
            throw new SignerException(SignerRefusal.Busy, $"Another process signs with {folder} at this moment.");
        }
    }

    public void Make()
    {
        if (OperatingSystem.IsWindows()) { Directory.CreateDirectory(folder); }
        else { Directory.CreateDirectory(folder, OwnFolder); }
    }

    /// <summary>Makes a key of 32 random bytes with nothing signed yet. The key comes last: without it nothing has begun.</summary>
    public void Begin(string origin)
    {
        var seed = RandomNumberGenerator.GetBytes(Ed25519.SeedLength);
        var signer = new NoteSigner(origin, NoteKeyType.Ed25519, seed);
        CryptographicOperations.ZeroMemory(seed);
        var head = new Checkpoint(origin, 0, MerkleTree.EmptyRoot);
        Write(JournalFile, Line(head), FileMode.Create);
        Write(StateFile, head.Text, FileMode.Create);
        Write(PublicFile, signer.Verifier.VKey + "\n", FileMode.Create);
        Write(KeyFile + ".new", signer.ToSecretText() + "\n", FileMode.Create);
        File.Move(KeyFile + ".new", KeyFile);
    }

    /// <summary>The key, if it is this log's, nobody else can read it, and it is not one that everybody has.</summary>
    public NoteSigner Key(string origin)
    {
        if (!OperatingSystem.IsWindows())
        {
            foreach (var path in new[] { folder, KeyFile })
            {
                if ((File.GetUnixFileMode(path) & Others) != 0)
                {
                    throw new SignerException(SignerRefusal.KeyExposed, $"Others than its owner may use {path}; a key that others can read signs nothing.");
                }
            }
        }

        if (!NoteSigner.Parse(File.ReadAllText(KeyFile).TrimEnd('\n')).TryGet(out var signer, out var fault))
        {
            throw new SignerException(SignerRefusal.KeyMalformed, $"The key in {folder}: {fault.Detail}");
        }

        if (signer.Verifier.Name != origin || signer.Verifier.Type != NoteKeyType.Ed25519)
        {
            throw new SignerException(SignerRefusal.KeyMalformed, $"The key in {folder} is {signer.Verifier.Name}'s, not the log key of {origin}.");
        }

        return Published.Contains(Convert.ToHexStringLower(signer.Verifier.PublicKey.Span))
            ? throw new SignerException(SignerRefusal.KeyPublished, $"The key in {folder} is a published test key.")
            : signer;
    }

    /// <summary>
    /// The head that was signed last: the last line of the journal, which is on the disk before a signature is given out. The state
    /// is the same once more, without waiting for the disk, so it may be some lines behind after a power cut. A state that the
    /// journal's end does not know means that the folder was put back or cut, and is not guessed at.
    /// </summary>
    public Checkpoint Last(string origin)
    {
        if (!File.Exists(StateFile) || !File.Exists(JournalFile)) { throw Lost("its files are missing"); }
        if (!Checkpoint.Parse(File.ReadAllText(StateFile)).TryGet(out var state, out var fault)) { throw Lost(fault.Detail); }
        if (state.Origin != origin) { throw Lost($"it is {state.Origin}'s"); }
        var lines = JournalEnd();
        if (lines.Length == 0) { throw Lost("the journal is empty"); }
        if (!lines.Contains(Line(state)[..^1], StringComparer.Ordinal)) { throw Lost("journal and state do not fit"); }
        if (Read(origin, lines[^1]) is not { } last) { throw Lost("the journal's last line is no head"); }
        if (last != state) { Replace(last); }
        return last;
    }

    /// <summary>The last lines of the journal, as many as a state can be behind; a line without its end was never answered with a signature.</summary>
    private string[] JournalEnd()
    {
        using var journal = new FileStream(JournalFile, FileMode.Open, FileAccess.Read, FileShare.ReadWrite);
        journal.Position = Math.Max(0, journal.Length - TailLength);
        var bytes = new byte[journal.Length - journal.Position];
        var whole = journal.Position == 0;
        journal.ReadExactly(bytes);
        var text = Encoding.UTF8.GetString(bytes);
        text = text[..(text.LastIndexOf('\n') + 1)];
        if (!whole) { text = text[(text.IndexOf('\n', StringComparison.Ordinal) + 1)..]; }
        return text.Split('\n', StringSplitOptions.RemoveEmptyEntries);
    }

    /// <summary>Keeps the head as signed, before the signature is given out.</summary>
    public void Keep(Checkpoint head)
    {
        Truncate();
        Write(JournalFile, Line(head), FileMode.Append);
        step(SealStep.JournalWritten);
        Replace(head);
        step(SealStep.StateWritten);
    }

    private void Replace(Checkpoint head)
    {
        Write(StateFile + ".new", head.Text, FileMode.Create, waits: false);
        File.Move(StateFile + ".new", StateFile, overwrite: true);
    }

    /// <summary>Takes away the rest of a line that a stopped process left.</summary>
    private void Truncate()
    {
        using var journal = new FileStream(JournalFile, FileMode.Open, FileAccess.ReadWrite);
        while (journal.Length > 0)
        {
            journal.Position = journal.Length - 1;
            if (journal.ReadByte() == '\n') { return; }
            journal.SetLength(journal.Length - 1);
        }
    }

    private static void Write(string path, string text, FileMode mode, bool waits = true)
    {
        var options = new FileStreamOptions { Mode = mode, Access = FileAccess.Write };
        if (!OperatingSystem.IsWindows()) { options.UnixCreateMode = OwnFile; }
        using var file = new FileStream(path, options);
        file.Write(Encoding.UTF8.GetBytes(text));
        file.Flush(flushToDisk: waits);
    }

    private static string Line(Checkpoint head) => $"{head.Size} {head.Root.ToBase64()}\n";

    private static Checkpoint? Read(string origin, string line)
    {
        var parts = line.Split(' ');
        return parts.Length == 2 && Checkpoint.Parse($"{origin}\n{parts[0]}\n{parts[1]}\n").TryGet(out var head, out _) ? head : null;
    }

    private SignerException Lost(string why) => new(
        SignerRefusal.StateLost, $"The signer's memory in {folder} cannot be trusted: {why}. Nothing is signed until a person has looked; see docs/audit.md.");
}

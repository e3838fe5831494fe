using System.Security.Cryptography;
using System.Text;
using Contracts.Seals;

namespace Contracts.Store.Seals;

/// <summary>
/// A signer in this process, whose key and memory lie in a folder outside the database. It does what a signer of another
/// user on another machine does: it holds each head against its own memory with a proof that it checks itself.
/// </summary>
/// <param name="folder">Holds a folder for each log.</param>
public sealed class FolderSigner(string folder) : ISigner
{
    /// <summary>Names the folder where it is not to be the usual one.</summary>
    public const string Variable = "CONTRACTS_SIGNER";

    /// <summary>What a test stops the signer with.</summary>
    internal Action<SealStep> Step { get; init; } = static _ => { };

    /// <summary>The folder of one log: short, and the same whatever signs its name may have.</summary>
    public string FolderOf(string origin) =>
        Path.Combine(folder, Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(origin)))[..16]);

    public Task<SignerState> StateAsync(string origin, bool mayBegin, CancellationToken stop)
    {
        var files = new SignerFolder(FolderOf(origin), Step);
        if (!files.HasKey)
        {
            if (!mayBegin) { throw new SignerException(SignerRefusal.KeyMissing, $"The key of {origin} is not in {FolderOf(origin)}."); }
            files.Make();
            using var alone = files.Lock();
            if (!files.HasKey) { files.Begin(origin); }
        }

        using var held = files.Lock();
        var key = files.Key(origin);
        var last = files.Last(origin);
        return Task.FromResult(new SignerState(key.Verifier, last.Size, last.Root));
    }

    public Task<string> SignAsync(SignRequest request, CancellationToken stop)
    {
        var files = new SignerFolder(FolderOf(request.Origin), Step);
        if (!files.HasKey) { throw new SignerException(SignerRefusal.KeyMissing, $"The key of {request.Origin} is not in {FolderOf(request.Origin)}."); }
        using var held = files.Lock();
        var key = files.Key(request.Origin);
        var last = files.Last(request.Origin);
        Require(last, request);
        var head = new Checkpoint(request.Origin, request.Size, request.Root);
        if (head != last) { files.Keep(head); }

        // One key and one text have one signature: who was stopped here gets the same bytes when it asks again.
        return Task.FromResult(SignedNote.Of(head.Text, key.Sign(head.Text)).ToString());
    }

    public Task<string> SignStatementAsync(string origin, string text, CancellationToken stop)
    {
        if (!text.StartsWith("contracts/", StringComparison.Ordinal) || Checkpoint.Parse(text).TryGet(out _, out _))
        {
            throw new ArgumentException("A statement begins with contracts/ and is no head of a log.", nameof(text));
        }

        var files = new SignerFolder(FolderOf(origin), Step);
        if (!files.HasKey) { throw new SignerException(SignerRefusal.KeyMissing, $"The key of {origin} is not in {FolderOf(origin)}."); }
        using var held = files.Lock();
        return Task.FromResult(SignedNote.Of(text, files.Key(origin).Sign(text)).ToString());
    }

    private static void Require(Checkpoint last, SignRequest request)
    {
        if (request.Size < last.Size)
        {
            throw new SignerException(
                SignerRefusal.LogPutBack, $"The log has {request.Size} leaves and {last.Size} were signed: it was put back to an earlier state, or its end was cut off.");
        }

        if (request.Size == last.Size && request.Root != last.Root)
        {
            throw new SignerException(SignerRefusal.LogForked, $"The log of {last.Size} leaves has another root than was signed.");
        }

        if (last.Size == 0 || request.Size == last.Size) { return; }
        if (request.Proof is not { } proof || proof.OldSize != last.Size || proof.NewSize != request.Size)
        {
            throw new SignerException(SignerRefusal.LogForked, $"There is no proof that the log continues the {last.Size} leaves that were signed.");
        }

        if (proof.Verify(last.Root, request.Root) is { } fault)
        {
            throw new SignerException(SignerRefusal.LogForked, $"The log does not continue the {last.Size} leaves that were signed: {fault.Detail}");
        }
    }
}

using Contracts.Host.Tests.Support;
using Contracts.Seals;
using Contracts.Store.Seals;
using Xunit;

namespace Contracts.Host.Tests.Seals;

/// <summary>The signer believes nobody: it signs only what it sees to continue what it signed, with a key that only it has.</summary>
public sealed class SignerTests(Server server, ITestOutputHelper output) : IDisposable
{
    private const string Origin = "contracts/test";
    private readonly string folder = Path.Combine(Path.GetTempPath(), $"contracts-signer-{Guid.NewGuid():N}");

    public void Dispose()
    {
        if (Directory.Exists(folder)) { Directory.Delete(folder, recursive: true); }
    }

    [Fact]
    public async Task Only_a_proved_continuation_is_signed()
    {
        var signer = new FolderSigner(folder);
        await signer.StateAsync(Origin, mayBegin: true, CancellationToken.None);
        var tree = Tree(0, 40);
        await signer.SignAsync(new SignRequest(Origin, 20, MerkleTree.Root(tree, 20), null), CancellationToken.None);

        await RefusedAsync(SignerRefusal.LogForked, signer, new SignRequest(Origin, 40, tree.Root, null));
        await RefusedAsync(SignerRefusal.LogPutBack, signer, new SignRequest(Origin, 10, MerkleTree.Root(tree, 10), null));
        await RefusedAsync(SignerRefusal.LogForked, signer, new SignRequest(Origin, 20, Tree(1, 20).Root, null));
        var proof = ConsistencyProof.Make(tree, 20, 40);
        Assert.NotNull(await signer.SignAsync(new SignRequest(Origin, 40, tree.Root, proof), CancellationToken.None));
    }

    [Fact]
    public async Task No_fork_is_ever_signed()
    {
        var signer = new FolderSigner(folder);
        await signer.StateAsync(Origin, mayBegin: true, CancellationToken.None);
        var tree = Tree(0, 64);
        await signer.SignAsync(new SignRequest(Origin, 37, MerkleTree.Root(tree, 37), null), CancellationToken.None);
        var tries = int.TryParse(Environment.GetEnvironmentVariable("CONTRACTS_FORKS"), out var given) ? given : 1000;
        var random = new Random(6);
        for (var fork = 0; fork < tries; fork++)
        {
            // Another history from some leaf before the signed head on; proofs come from it, or from both.
            var other = Fork(64, random.Next(37), fork);
            var size = random.Next(1, 65);
            var proof = size > 37 ? ConsistencyProof.Make(random.Next(2) == 0 ? other : tree, 37, size) : null;
            await Assert.ThrowsAsync<SignerException>(() => signer.SignAsync(
                new SignRequest(Origin, size, MerkleTree.Root(other, size), proof), CancellationToken.None));
        }

        output.WriteLine($"{tries:N0} forks, replays and older states: none signed");
        Assert.Equal(37, (await signer.StateAsync(Origin, mayBegin: false, CancellationToken.None)).Size);
    }

    [Fact]
    public async Task A_key_that_others_can_read_signs_nothing()
    {
        if (OperatingSystem.IsWindows())
        {
            Assert.Skip("Windows keeps rights otherwise.");
            return;
        }

        var signer = new FolderSigner(folder);
        await signer.StateAsync(Origin, mayBegin: true, CancellationToken.None);
        foreach (var path in new[] { Path.Combine(signer.FolderOf(Origin), "key"), signer.FolderOf(Origin) })
        {
            var mode = File.GetUnixFileMode(path);
            File.SetUnixFileMode(path, mode | UnixFileMode.GroupRead);
            await RefusedStateAsync(SignerRefusal.KeyExposed, signer);
            File.SetUnixFileMode(path, mode);
        }

        Assert.Equal(0, (await signer.StateAsync(Origin, mayBegin: false, CancellationToken.None)).Size);
    }

    [Theory]
    [InlineData("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")]
    [InlineData("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb")]
    [InlineData("c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7")]
    [InlineData("f5e5767cf153319517630f226876b86c8160cc583bc013744c6bf255f5cc0ee5")]
    [InlineData("833fe62409237b9d62ec77587520911e9a759cec1d19755b7da901b96dca3d42")]
    [InlineData("0000000000000000000000000000000000000000000000000000000000000000")]
    public async Task A_key_that_is_printed_somewhere_signs_nothing(string seed)
    {
        var signer = new FolderSigner(folder);
        await signer.StateAsync(Origin, mayBegin: true, CancellationToken.None);
        var key = new NoteSigner(Origin, NoteKeyType.Ed25519, Convert.FromHexString(seed));
        await File.WriteAllTextAsync(Path.Combine(signer.FolderOf(Origin), "key"), key.ToSecretText() + "\n", TestContext.Current.CancellationToken);

        await RefusedStateAsync(SignerRefusal.KeyPublished, signer);
    }

    [Theory]
    [InlineData("state", null)]
    [InlineData("journal", null)]
    [InlineData("journal", "")]
    [InlineData("state", "contracts/test\n0\n")]
    [InlineData("state", "contracts/test\n5\n47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU=\n")]
    [InlineData("state", "contracts/other\n0\n47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU=\n")]
    [InlineData("key", null)]
    public async Task A_signer_that_lost_its_memory_or_key_begins_nothing_anew(string file, string? instead)
    {
        var signer = new FolderSigner(folder);
        await signer.StateAsync(Origin, mayBegin: true, CancellationToken.None);
        var tree = Tree(0, 9);
        await signer.SignAsync(new SignRequest(Origin, 4, MerkleTree.Root(tree, 4), null), CancellationToken.None);
        await signer.SignAsync(new SignRequest(Origin, 9, tree.Root, ConsistencyProof.Make(tree, 4, 9)), CancellationToken.None);
        var path = Path.Combine(signer.FolderOf(Origin), file);
        if (instead is null) { File.Delete(path); }
        else { await File.WriteAllTextAsync(path, instead, TestContext.Current.CancellationToken); }

        await RefusedStateAsync(file == "key" ? SignerRefusal.KeyMissing : SignerRefusal.StateLost, signer);
    }

    [Fact]
    public async Task A_memory_that_a_power_cut_left_behind_its_journal_is_the_journals()
    {
        var signer = new FolderSigner(folder);
        await signer.StateAsync(Origin, mayBegin: true, CancellationToken.None);
        var path = Path.Combine(signer.FolderOf(Origin), "state");
        var before = await File.ReadAllTextAsync(path, TestContext.Current.CancellationToken);
        var tree = Tree(0, 9);
        await signer.SignAsync(new SignRequest(Origin, 4, MerkleTree.Root(tree, 4), null), CancellationToken.None);
        await signer.SignAsync(new SignRequest(Origin, 9, tree.Root, ConsistencyProof.Make(tree, 4, 9)), CancellationToken.None);
        await File.WriteAllTextAsync(path, before, TestContext.Current.CancellationToken);

        Assert.Equal(9, (await signer.StateAsync(Origin, mayBegin: false, CancellationToken.None)).Size);
        await Assert.ThrowsAsync<SignerException>(() => signer.SignAsync(new SignRequest(Origin, 4, MerkleTree.Root(tree, 4), null), CancellationToken.None));
    }

    [Fact]
    public async Task A_journal_of_many_lines_is_read_at_its_end_only()
    {
        var signer = new FolderSigner(folder);
        await signer.StateAsync(Origin, mayBegin: true, CancellationToken.None);
        var tree = Tree(0, 250);
        for (var size = 1; size <= 250; size++)
        {
            var proof = size == 1 ? null : ConsistencyProof.Make(tree, size - 1, size);
            await signer.SignAsync(new SignRequest(Origin, size, MerkleTree.Root(tree, size), proof), CancellationToken.None);
        }

        Assert.Equal(250, (await signer.StateAsync(Origin, mayBegin: false, CancellationToken.None)).Size);
        Assert.Equal(251, (await File.ReadAllLinesAsync(Path.Combine(signer.FolderOf(Origin), "journal"), TestContext.Current.CancellationToken)).Length);
    }

    [Fact]
    public async Task A_line_that_was_cut_off_was_never_answered_and_does_not_count()
    {
        var signer = new FolderSigner(folder);
        await signer.StateAsync(Origin, mayBegin: true, CancellationToken.None);
        var tree = Tree(0, 9);
        await signer.SignAsync(new SignRequest(Origin, 4, MerkleTree.Root(tree, 4), null), CancellationToken.None);
        await File.AppendAllTextAsync(Path.Combine(signer.FolderOf(Origin), "journal"), "9 abc", TestContext.Current.CancellationToken);

        Assert.NotNull(await signer.SignAsync(new SignRequest(Origin, 9, tree.Root, ConsistencyProof.Make(tree, 4, 9)), CancellationToken.None));
        Assert.Equal(9, (await signer.StateAsync(Origin, mayBegin: false, CancellationToken.None)).Size);
    }

    [Fact]
    public async Task A_store_that_was_put_back_gets_no_signature_until_a_person_has_looked()
    {
        await using var shop = await SealedShop.OpenAsync(server);
        await shop.LiveAsync(2, 2);
        var early = (await shop.SealCleanlyAsync()).Size;
        await shop.LiveAsync(2, 2, "D");
        await shop.SealCleanlyAsync();

        // The database of the evening is replaced by that of noon, and life goes on from there.
        await shop.TamperAsync($"""
            delete from contracts.mt_events where seq_id > (select max(event_seq) from audit.leaf where leaf_index < {early});
            delete from contracts.mt_streams where id like 'D-%';
            delete from audit.checkpoint where size > {early}; delete from audit.root where size > {early}; delete from audit.leaf where leaf_index >= {early}
            """);
        var putBack = await shop.SealAsync();
        var found = (await shop.CheckAsync()).Findings;
        await using var again = await Contracts.Store.ContractsStore.OpenAsync(shop.Database, shop.Store.Settings, TestContext.Current.CancellationToken);
        foreach (var contract in Enumerable.Range(1, 12))
        {
            await again.ApplyAsync(Lines.Sign($"E-{contract}", $"E-{contract}"));
        }

        var after = await again.SealerWith(shop.Signer).SealAsync(stop: TestContext.Current.CancellationToken);

        Assert.Contains(putBack.Alarms, alarm => alarm.Kind == "signer-log-put-back");
        Assert.Contains(found, one => one.Kind == "log-behind-signer");
        Assert.Contains(after.Alarms, alarm => alarm.Kind is "signer-log-forked" or "signer-log-put-back");
        Assert.Equal(early, after.Checkpoint!.Size);
    }

    private static MemoryTree Tree(int kind, int size) => new(Enumerable.Range(0, size).Select(leaf => MerkleTree.LeafHash([(byte)kind, (byte)leaf])));

    private static MemoryTree Fork(int size, int from, int number) => new(Enumerable.Range(0, size).Select(leaf =>
        leaf < from ? MerkleTree.LeafHash([0, (byte)leaf]) : MerkleTree.LeafHash([1, (byte)leaf, .. BitConverter.GetBytes(number)])));

    private static async Task RefusedAsync(SignerRefusal why, FolderSigner signer, SignRequest request) =>
        Assert.Equal(why, (await Assert.ThrowsAsync<SignerException>(() => signer.SignAsync(request, CancellationToken.None))).Refusal);

    private static async Task RefusedStateAsync(SignerRefusal why, FolderSigner signer) => Assert.Equal(
        why, (await Assert.ThrowsAsync<SignerException>(() => signer.StateAsync(Origin, mayBegin: false, CancellationToken.None))).Refusal);
}

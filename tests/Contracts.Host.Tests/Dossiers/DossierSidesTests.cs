using System.Text;
using Contracts.Host.Tests.Support;
using Contracts.Seals;
using Contracts.Store.Dossiers;
using NodaTime;
using Xunit;
using static Contracts.Host.Tests.Dossiers.DossierFixture;

namespace Contracts.Host.Tests.Dossiers;

/// <summary>What a dossier has beside the events: the statement, closed months, earlier heads, papers, facts about the family.</summary>
public sealed class DossierSidesTests(DossierFixture made) : IClassFixture<DossierFixture>
{
    private const string Statement = "statement.note";

    [Fact]
    public void A_dossier_that_the_key_did_not_sign_as_a_whole_does_not_hold()
    {
        var repacked = made.Files();
        repacked["data/request.json"] = Encoding.UTF8.GetBytes(Encoding.UTF8.GetString(repacked["data/request.json"]).Replace("2027-01-02", "2027-01-03", StringComparison.Ordinal));
        var statement = repacked[Statement];
        foreach (var tag in repacked.Keys.Where(name => !name.StartsWith("data/", StringComparison.Ordinal)).ToList()) { repacked.Remove(tag); }
        DossierFiles.Bag(repacked);
        Assert.Equal("file-missing", Code(repacked));
        repacked[Statement] = statement;
        Assert.Equal("statement-differs", Code(repacked));

        var foreign = made.Files();
        var other = new NoteSigner(Encoding.UTF8.GetString(made.Kept).Split('\n')[0], NoteKeyType.Ed25519, Enumerable.Range(1, 32).Select(number => (byte)number).ToArray());
        var text = Encoding.UTF8.GetString(statement).Split("\n\n")[0] + "\n";
        foreign[Statement] = SignedNote.Of(text, other.Sign(text)).ToBytes();
        var verdict = DossierVerifier.Verify(DossierZip.Write(foreign));
        Assert.Equal((DossierStanding.CannotTell, "key-unknown"), (verdict.Standing, verdict.Fault!.Code));
    }

    [Fact]
    public async Task The_signer_signs_no_statement_that_could_be_a_head_of_the_log()
    {
        var origin = Encoding.UTF8.GetString(made.Kept).Split('\n')[0];
        var head = Encoding.UTF8.GetString(made.Kept).Split("\n\n")[0] + "\n";
        await Assert.ThrowsAsync<ArgumentException>(() => made.Shop.Signer.SignStatementAsync(origin, head, TestContext.Current.CancellationToken));
        await Assert.ThrowsAsync<ArgumentException>(() => made.Shop.Signer.SignStatementAsync(origin, "anything\n", TestContext.Current.CancellationToken));
    }

    [Fact]
    public void The_last_closed_month_is_shown_to_be_the_logs_beginning()
    {
        Assert.Contains("The log continues what it was when 2026-09 was closed.", DossierVerifier.Verify(made.Bytes).Proved);
        var proof = made.Files().Keys.Single(name => name.StartsWith("data/log/earlier/", StringComparison.Ordinal) && name.EndsWith(".proof", StringComparison.Ordinal));
        AssertAltered(files => files[proof] = Swapped(files[proof]), "proof-root-differs");
        AssertAltered(files => files.Remove("data/log/month-end.json"), "dossier-malformed");
        AssertAltered(files => files["data/log/month-end.json"] = files["data/log/anchor.json"], "origin-differs");
        AssertAltered(
            files =>
            {
                files.Remove(proof);
                files.Remove(proof[..^"proof".Length] + "txt");
            },
            "proof-root-differs");
    }

    [Fact]
    public async Task An_earlier_head_of_another_history_is_no_beginning_of_this_one()
    {
        var size = DossierFiles.SizeOf(made.Kept);
        var since = DossierZip.Read(await made.MakeAsync(Request(), new DossierExtras(made.Kept, null, []))).Files!;
        // The same key, the same size, another root: what a forked log would have signed.
        var forked = await Forked();
        since[$"data/log/earlier/{size}.txt"] = forked;
        Assert.Equal("proof-root-differs", DossierVerifier.Verify(made.Pack(since)).Fault!.Code);
        var fork = DossierVerifier.Verify(await made.MakeAsync(Request(), new DossierExtras(made.Kept, null, [])), null, forked);
        Assert.Equal((DossierStanding.Altered, "log-forked"), (fork.Standing, fork.Fault!.Code));
        await Assert.ThrowsAnyAsync<Exception>(() => made.MakeAsync(Request(), new DossierExtras(forked, null, [])));

        async Task<byte[]> Forked()
        {
            var key = NoteSigner.Parse((await File.ReadAllTextAsync(Directory.GetFiles(made.Shop.SignerFolder, "key", SearchOption.AllDirectories).Single())).TrimEnd('\n')).Value;
            var text = new Checkpoint(key.Verifier.Name, size, Digest.Of("another history"u8)).Text;
            return SignedNote.Of(text, key.Sign(text)).ToBytes();
        }
    }

    [Fact]
    public void Papers_have_the_bytes_that_were_given_out()
    {
        var paper = Assert.Single(made.Files().Keys, name => name.StartsWith("data/papers/", StringComparison.Ordinal));
        Assert.Contains("1 papers have the bytes that were given out.", DossierVerifier.Verify(made.Bytes).Proved);
        AssertAltered(files => files[paper] = [.. files[paper], (byte)' '], "paper-altered");
        AssertAltered(files => files["data/papers/0001.html"] = files[paper], "file-added");
        AssertAltered(files => files["data/papers/1.html"] = files[paper], "file-added", "paper-altered");
        // Without its file the page would say otherwise than it does.
        AssertAltered(files => files.Remove(paper), "figures-differ");
    }

    [Fact]
    public async Task A_fact_is_told_to_one_reader_and_not_to_another_and_both_dossiers_hold()
    {
        var stop = TestContext.Current.CancellationToken;
        var view = await made.Shop.Store.Households.ReadAsync("H", "ada", "a dispute (invented)", false, Instant.FromUtc(2027, 1, 1, 0, 0), stop);
        var name = view!.Facts.Single(fact => fact.Name == "name");
        var bytes = await made.MakeAsync(Request(), new DossierExtras(null, null, [name]));
        Assert.Contains("1 facts about the family are those that were recorded.", DossierVerifier.Verify(bytes).Proved);
        Assert.Contains("Varga-Canary", Encoding.UTF8.GetString(DossierZip.Read(bytes).Files!["data/result/account.html"]), StringComparison.Ordinal);
        Assert.DoesNotContain("555 0100", Encoding.UTF8.GetString(bytes), StringComparison.Ordinal);
        Assert.DoesNotContain("Canary", Encoding.UTF8.GetString(made.Bytes), StringComparison.Ordinal);

        var files = DossierZip.Read(bytes).Files!;
        var invented = SaltedDisclosure.Of(new byte[16], "name", "Somebody Else");
        files["data/disclosures.txt"] = Encoding.UTF8.GetBytes(invented.Text + "\n");
        Assert.Equal("disclosure-not-committed", DossierVerifier.Verify(made.Pack(files)).Fault!.Code);
        await ScriptAgreesAsync(bytes, files);
    }

    [Fact]
    public async Task A_checkpoint_asked_for_is_in_the_dossier_and_knows_what_it_knew()
    {
        var size = DossierFiles.SizeOf(made.Kept);
        var known = (await made.Shop.Store.Seals.FindAsync($"size:{size}", TestContext.Current.CancellationToken)).Known!.Value;
        var bytes = await made.MakeAsync(Request() with { Known = known.At }, new DossierExtras(null, size, []));
        var files = DossierZip.Read(bytes).Files!;
        Assert.Equal(made.Kept, files[$"data/log/earlier/{size}.txt"]);
        Assert.DoesNotContain("moved", Encoding.UTF8.GetString(files["data/result/totals.csv"]), StringComparison.Ordinal);
        Assert.Contains("\"event\":\"moved\",\"key\":\"move\",\"known\":false", Encoding.UTF8.GetString(files["data/result/timeline.json"]), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_lines_of_the_readme_check_the_signature_with_coreutils_and_OpenSSL_alone()
    {
        var folder = Directory.CreateTempSubdirectory("contracts-dossier-").FullName;
        try
        {
            await using (var zip = new System.IO.Compression.ZipArchive(new MemoryStream(made.Bytes))) { System.IO.Compression.ZipFileExtensions.ExtractToDirectory(zip, folder); }
            var lines = (await File.ReadAllLinesAsync(Path.Combine(folder, "data/README.txt"), TestContext.Current.CancellationToken)).Select(line => line.Trim()).ToList();
            var begin = lines.FindIndex(line => line.StartsWith("(printf", StringComparison.Ordinal));
            var script = string.Join("\n", lines.Skip(begin).Take(5));
            Assert.Equal((0, "same"), await RunAsync());
            await File.AppendAllTextAsync(Path.Combine(folder, "tagmanifest-sha256.txt"), "x", TestContext.Current.CancellationToken);
            Assert.Equal((1, ""), await RunAsync());
            var note = await File.ReadAllTextAsync(Path.Combine(folder, Statement), TestContext.Current.CancellationToken);
            await File.WriteAllTextAsync(Path.Combine(folder, Statement), note.Replace("dossier@v1", "dossier@v2", StringComparison.Ordinal), TestContext.Current.CancellationToken);
            Assert.Contains("Failure", (await Shell.SystemAsync("openssl", "openssl", "version")).Exit == 0 ? (await ScriptAsync()).Output : "Failure", StringComparison.Ordinal);

            async Task<(int Exit, string Last)> RunAsync()
            {
                var (exit, output, _) = await ScriptAsync();
                return (exit, output.Contains("same", StringComparison.Ordinal) ? "same" : "");
            }

            Task<(int Exit, string Output, string Error)> ScriptAsync() => Shell.SystemAsync("sh", "dash", "-c", $"cd {folder}\n{script}");
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    /// <summary>The script holds what holds and refuses the fact that was never recorded.</summary>
    private async Task ScriptAgreesAsync(byte[] good, SortedDictionary<string, byte[]> bad)
    {
        var folder = Directory.CreateTempSubdirectory("contracts-dossier-").FullName;
        try
        {
            var script = Path.Combine(folder, "verify.py");
            await File.WriteAllBytesAsync(script, made.Files()["data/verify.py"]);
            await File.WriteAllBytesAsync(Path.Combine(folder, "good.zip"), good);
            await File.WriteAllBytesAsync(Path.Combine(folder, "bad.zip"), made.Pack(bad));
            var (exit, said, error) = await Shell.SystemAsync("python3", "python3", "-I", "-B", script, Path.Combine(folder, "good.zip"));
            Assert.True(exit == 0, said + error);
            Assert.Contains("1 facts about the family", said, StringComparison.Ordinal);
            Assert.Contains("2026-09 was closed", said, StringComparison.Ordinal);
            Assert.Contains("disclosure-not-committed", (await Shell.SystemAsync("python3", "python3", "-I", "-B", script, Path.Combine(folder, "bad.zip"))).Output, StringComparison.Ordinal);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static byte[] Swapped(byte[] proof)
    {
        var lines = Lines(proof);
        (lines[3], lines[4]) = (lines[4], lines[3]);
        return Joined(lines);
    }

    private static string Code(SortedDictionary<string, byte[]> files) => DossierVerifier.Verify(DossierZip.Write(files)).Fault!.Code;

    private void AssertAltered(Action<SortedDictionary<string, byte[]>> change, params string[] codes)
    {
        var files = made.Files();
        change(files);
        var verdict = DossierVerifier.Verify(made.Pack(files));
        Assert.True(verdict.Standing == DossierStanding.Altered, $"{verdict.Standing} {verdict.Fault}");
        Assert.Contains(verdict.Fault!.Code, codes);
    }
}

using System.Security.Cryptography.X509Certificates;
using System.Text;
using System.Text.Json;
using Contracts.Host.Tests.Dossiers;
using Contracts.Host.Tests.Support;
using Contracts.Store.Dossiers;
using Contracts.Store.Seals;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Seals;

/// <summary>Time stamps by others (RFC 3161): what holds, what does not and why, beside OpenSSL's own tool.</summary>
public sealed class TimeStampTests(Server server)
{
    private static readonly byte[] Data = Encoding.UTF8.GetBytes("a head of the log\n");
    private static readonly DateTimeOffset At = new(2021, 6, 1, 12, 0, 0, TimeSpan.Zero);

    [Fact]
    public void A_token_holds_over_its_bytes_by_the_root_that_was_given_also_when_its_certificate_has_ended_since()
    {
        foreach (var flaw in new[] { Flaw.None, Flaw.EndedLongAgo })
        {
            using var authority = new TestAuthority(flaw);
            var (stamp, fault) = TimeStampCheck.Verify(authority.Token(Data, At), Data, authority.Roots);
            Assert.Null(fault);
            Assert.Equal((Instant.FromDateTimeOffset(At), true), (stamp!.At, stamp.IsRooted));
        }
    }

    [Theory]
    [InlineData(nameof(Flaw.PurposeNotCritical), "stamp-signer-unfit")]
    [InlineData(nameof(Flaw.OtherPurpose), "stamp-signer-unfit")]
    [InlineData(nameof(Flaw.TwoPurposes), "stamp-signer-unfit")]
    [InlineData(nameof(Flaw.IsAuthority), "stamp-signer-unfit")]
    [InlineData(nameof(Flaw.KeyForOtherThings), "stamp-signer-unfit")]
    [InlineData(nameof(Flaw.KeyForNothingSaid), "stamp-signer-unfit")]
    [InlineData(nameof(Flaw.KeyForPromisesOnly), "stamp-signer-unfit")]
    [InlineData(nameof(Flaw.WeakSignature), "stamp-hash-weak")]
    [InlineData(nameof(Flaw.CertificateNotNamed), "stamp-hash-weak")]
    [InlineData(nameof(Flaw.CarriesMore), "stamp-carries-more")]
    [InlineData(nameof(Flaw.UnsignedAttribute), "stamp-carries-more")]
    [InlineData(nameof(Flaw.WeakHash), "stamp-hash-weak")]
    public void An_authority_that_is_not_fit_for_it_stamps_nothing(string flaw, string code)
    {
        using var authority = new TestAuthority(Enum.Parse<Flaw>(flaw));
        var (stamp, fault) = TimeStampCheck.Verify(authority.Token(Data, At), Data, authority.Roots);
        Assert.Null(stamp);
        Assert.Equal(code, fault!.Code);
    }

    [Fact]
    public void A_token_of_other_bytes_of_another_root_or_of_a_time_outside_its_certificate_is_refused()
    {
        using var authority = new TestAuthority();
        using var stranger = new TestAuthority();
        using var ended = new TestAuthority(Flaw.EndedLongAgo);
        var token = authority.Token(Data, At);
        Assert.Equal("stamp-of-other-data", Code(token, [.. Data, (byte)' '], authority.Roots));
        Assert.Equal("stamp-root-unknown", Code(token, Data, stranger.Roots));
        Assert.Equal("stamp-outside-validity", Code(ended.Token(Data, At.AddYears(5)), Data, ended.Roots));
        Assert.Equal("stamp-malformed", Code([.. token, 0], Data, authority.Roots));
        Assert.Equal("stamp-malformed", Code([], Data, authority.Roots));
        Assert.Equal("stamp-too-large", Code(new byte[70_000], Data, authority.Roots));
        Assert.False(TimeStampCheck.Verify(token, Data, null).Stamp!.IsRooted);
    }

    [Fact]
    public void No_changed_bit_of_a_token_is_believed()
    {
        using var authority = new TestAuthority();
        var token = authority.Token(Data, At);
        var believed = new List<int>();
        for (var bit = 0; bit < token.Length * 8; bit++)
        {
            byte[] changed = [.. token];
            changed[bit / 8] ^= (byte)(1 << (bit % 8));
            if (TimeStampCheck.Verify(changed, Data, authority.Roots).Stamp is not null) { believed.Add(bit); }
        }

        Assert.True(believed.Count == 0, $"{believed.Count} of {token.Length * 8}: bytes {string.Join(", ", believed.Select(bit => bit / 8).Distinct())}");
    }

    [Fact]
    public void A_response_made_by_OpenSSL_holds_and_none_of_its_bits_can_change()
    {
        using var json = JsonDocument.Parse(File.ReadAllBytes(Path.Combine(Papers.InventedLife.Root(), "fixtures/published/time-stamp.json")));
        string Text(string name) => json.RootElement.GetProperty(name).GetString()!;
        var data = Encoding.UTF8.GetBytes(Text("data"));
        using var root = X509Certificate2.CreateFromPem(Text("root"));
        var response = Convert.FromHexString(Text("response"));
        var (token, unread) = TimeStampCheck.TokenOf(response);
        Assert.Null(unread);
        var (stamp, fault) = TimeStampCheck.Verify(token!, data, [root]);
        Assert.Null(fault);
        Assert.Equal(Text("at"), stamp!.At.ToString());
        for (var at = 0; at < response.Length; at++)
        {
            byte[] changed = [.. response];
            changed[at] ^= (byte)(1 << (at % 8));
            var (other, _) = TimeStampCheck.TokenOf(changed);

            // The response around the token is thrown away: only what is kept has to be seen.
            if (other is null || other.AsSpan().SequenceEqual(token)) { continue; }
            Assert.True(TimeStampCheck.Verify(other, data, [root]).Stamp is null, $"byte {at}");
        }
    }

    [Fact]
    public async Task A_head_is_stamped_by_OpenSSL_and_kept_and_OpenSSL_says_the_same_of_it()
    {
        var folder = Directory.CreateTempSubdirectory("contracts-tsa-").FullName;
        try
        {
            await MakeAuthorityAsync(folder);
            await using var shop = await SealedShop.OpenAsync(server);
            await shop.LiveAsync(1, 2);
            var head = (await shop.SealCleanlyAsync(anchor: true)).Checkpoint!;
            await File.WriteAllTextAsync(Path.Combine(folder, "head.txt"), head.Note, TestContext.Current.CancellationToken);
            Assert.Equal(0, (await Shell.ContractsAsync(shop.Database, "stamp", "request", "--out", Path.Combine(folder, "q.tsq"))).Exit);
            await OpenSslAsync(folder, "openssl ts -reply -queryfile q.tsq -out r.tsr -config tsa.cnf");
            await OpenSslAsync(folder, "openssl ts -verify -data head.txt -in r.tsr -CAfile root.pem");

            var root = Path.Combine(folder, "root.pem");
            var (exit, output, error) = await Shell.ContractsAsync(shop.Database, "stamp", "add", Path.Combine(folder, "r.tsr"), "--tsa-root", root, "--format", "json");
            Assert.True(exit == 0, error);
            Assert.Contains("\"rooted\":true", output, StringComparison.Ordinal);
            Assert.Equal(1, await shop.NumberAsync("select count(*) from audit.timestamp"));
            var check = await Shell.ContractsAsync(shop.Database, [("CONTRACTS_TSA_ROOT", root)], "check", "--format", "json");
            Assert.Contains("\"time stamps\":1", check.Output, StringComparison.Ordinal);
            Assert.DoesNotContain("stamp-", check.Output, StringComparison.Ordinal);

            // The stamp goes with a dossier, where OpenSSL and the verifier find it as well.
            var dossier = await StampedAsync(shop, root);
            await File.WriteAllBytesAsync(Path.Combine(folder, "t.tst"), dossier, TestContext.Current.CancellationToken);
            await OpenSslAsync(folder, "openssl ts -verify -data head.txt -in t.tst -token_in -CAfile root.pem");

            await shop.TamperAsync("update audit.timestamp set token = set_byte(token, 200, get_byte(token, 200) # 1)");
            await AlteredAsync(shop);
            await shop.SealCleanlyAsync();
            await shop.LiveAsync(1, 1, "later");
            var later = (await shop.SealCleanlyAsync()).Checkpoint!.Size;
            foreach (var size in new[] { later, 999_999 })
            {
                // A stamp of one head put down as another's, or as that of a head that is not there.
                await shop.TamperAsync($"update audit.timestamp set token = set_byte(token, 200, get_byte(token, 200) # 1), size = {size}");
                await AlteredAsync(shop);
                await shop.TamperAsync("update audit.timestamp set token = set_byte(token, 200, get_byte(token, 200) # 1)");
            }
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }

        static async Task AlteredAsync(SealedShop shop)
        {
            var found = await Shell.ContractsAsync(shop.Database, "check", "--format", "json");
            Assert.Contains("\"kind\":\"stamp-", found.Output, StringComparison.Ordinal);
            Assert.Equal(3, found.Exit);
            Assert.Equal(3, (await Shell.ContractsAsync(shop.Database, "stamp", "list")).Exit);
        }
    }

    [Fact]
    public async Task An_authority_is_asked_over_HTTP_and_what_it_sends_is_kept_only_when_it_holds()
    {
        using var authority = new TestAuthority();
        await using var listening = new AuthorityServer(authority);
        var root = Path.GetTempFileName();
        try
        {
            await File.WriteAllTextAsync(root, authority.RootPem, TestContext.Current.CancellationToken);
            await using var shop = await SealedShop.OpenAsync(server);
            await shop.LiveAsync(1, 1);
            await shop.SealCleanlyAsync();
            await AskAsync(0, "");
            listening.At = DateTimeOffset.UtcNow.AddDays(2);
            await AskAsync(3, "stamp-from-the-future");
            listening.IsAway = true;
            await AskAsync(3, "gave no time stamp");
            Assert.Equal(2, (await Shell.ContractsAsync(shop.Database, "stamp", "get", listening.Url)).Exit);
            Assert.Equal(1, await shop.NumberAsync("select count(*) from audit.timestamp"));

            async Task AskAsync(int exit, string says)
            {
                var answer = await Shell.ContractsAsync(shop.Database, "stamp", "get", listening.Url, "--tsa-root", root);
                Assert.True(answer.Exit == exit, $"{answer.Exit}: {answer.Output}{answer.Error}");
                Assert.Contains(says, answer.Error, StringComparison.Ordinal);
            }
        }
        finally
        {
            File.Delete(root);
        }
    }

    /// <summary>The token in a dossier of the stamped head, after the verifier has said what it proves.</summary>
    private static async Task<byte[]> StampedAsync(SealedShop shop, string root)
    {
        var bytes = await shop.Store.Dossiers.MakeAsync(DossierFixture.Request(), shop.Signer);
        using var trusted = X509CertificateLoader.LoadCertificateFromFile(root);
        Assert.Contains(DossierVerifier.Verify(bytes, roots: [trusted]).Proved, line => line.Contains("existed by", StringComparison.Ordinal));
        Assert.Contains(DossierVerifier.Verify(bytes).NotProved, line => line.Contains("--tsa-root", StringComparison.Ordinal));
        using var stranger = new TestAuthority();
        Assert.Equal("stamp-root-unknown", DossierVerifier.Verify(bytes, roots: stranger.Roots).Fault!.Code);
        return DossierZip.Read(bytes).Files!.Single(file => file.Key.StartsWith("data/log/stamps/", StringComparison.Ordinal)).Value;
    }

    private static string? Code(byte[] token, byte[] data, X509Certificate2Collection roots) => TimeStampCheck.Verify(token, data, roots).Fault?.Code;

    [Fact]
    public async Task An_authority_that_sends_its_chain_in_any_order_is_believed_by_its_root()
    {
        var folder = Directory.CreateTempSubdirectory("contracts-tsa-").FullName;
        try
        {
            await MakeAuthorityAsync(folder);
            const string NewKey = "-newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes";
            await File.WriteAllTextAsync(Path.Combine(folder, "mid.ext"), "basicConstraints=critical,CA:TRUE\nkeyUsage=critical,keyCertSign\n", TestContext.Current.CancellationToken);
            await OpenSslAsync(folder, $"openssl req {NewKey} -keyout mid.key -out mid.csr -subj '/CN=Mid'");
            await OpenSslAsync(folder, "openssl x509 -req -in mid.csr -CA root.pem -CAkey root.key -CAcreateserial -extfile mid.ext -days 30 -out mid.pem");
            await OpenSslAsync(folder, "openssl x509 -req -in tsa.csr -CA mid.pem -CAkey mid.key -CAcreateserial -extfile tsa.ext -days 30 -out tsa.pem");
            await File.WriteAllBytesAsync(Path.Combine(folder, "head.txt"), Data, TestContext.Current.CancellationToken);
            await OpenSslAsync(folder, "openssl ts -query -data head.txt -sha256 -cert -out q.tsq");
            await OpenSslAsync(folder, "openssl ts -reply -queryfile q.tsq -chain mid.pem -out r.tsr -config tsa.cnf");
            var (token, unread) = TimeStampCheck.TokenOf(await File.ReadAllBytesAsync(Path.Combine(folder, "r.tsr"), TestContext.Current.CancellationToken));
            Assert.Null(unread);
            using var root = X509CertificateLoader.LoadCertificateFromFile(Path.Combine(folder, "root.pem"));
            Assert.Null(TimeStampCheck.Verify(token!, Data, [root]).Fault);
            await File.WriteAllBytesAsync(Path.Combine(folder, "t.tst"), token!, TestContext.Current.CancellationToken);
            await OpenSslAsync(folder, "openssl ts -verify -data head.txt -in t.tst -token_in -CAfile root.pem");
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static async Task MakeAuthorityAsync(string folder)
    {
        await File.WriteAllTextAsync(Path.Combine(folder, "tsa.ext"), "basicConstraints=critical,CA:FALSE\nkeyUsage=critical,digitalSignature\nextendedKeyUsage=critical,timeStamping\n");
        await File.WriteAllTextAsync(Path.Combine(folder, "serial"), "01\n");
        await File.WriteAllTextAsync(Path.Combine(folder, "tsa.cnf"), """
            [tsa]
            default_tsa = test
            [test]
            dir = .
            serial = ./serial
            crypto_device = builtin
            signer_cert = ./tsa.pem
            signer_key = ./tsa.key
            signer_digest = sha256
            default_policy = 1.2.3.4.1
            digests = sha256
            ess_cert_id_alg = sha256
            """);
        const string NewKey = "-newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes";
        await OpenSslAsync(folder, $"openssl req -x509 {NewKey} -keyout root.key -out root.pem -subj '/CN=Test only root' -days 30");
        await OpenSslAsync(folder, $"openssl req {NewKey} -keyout tsa.key -out tsa.csr -subj '/CN=Test only authority'");
        await OpenSslAsync(folder, "openssl x509 -req -in tsa.csr -CA root.pem -CAkey root.key -CAcreateserial -extfile tsa.ext -days 30 -out tsa.pem");
    }

    private static async Task OpenSslAsync(string folder, string command)
    {
        await Shell.SystemAsync("openssl", "openssl", "version");
        var (exit, output, error) = await Shell.SystemAsync("sh", "dash", "-c", $"cd {folder} && {command}");
        Assert.True(exit == 0, $"{command}: {output}{error}");
    }
}

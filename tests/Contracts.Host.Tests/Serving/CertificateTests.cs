using System.Net;
using System.Net.Security;
using System.Runtime.Versioning;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using System.Text.RegularExpressions;
using Contracts.Host.Serving;
using Contracts.Host.Serving.Api;
using Contracts.Host.Serving.SignIn;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace Contracts.Host.Tests.Serving;

/// <summary>The host with a certificate of its own, over a real connection.</summary>
[UnsupportedOSPlatform("windows")]
public sealed class CertificateTests(Server server) : IDisposable
{
    private const string Password = "an invented pass phrase";

    private readonly string folder = Directory.CreateTempSubdirectory("certificate-").FullName;

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_host_with_a_certificate_answers_over_https_and_its_cookies_never_leave_it(bool keyApart)
    {
        var (certificate, key, thumbprint) = Make(keyApart);
        await using var running = await RunningApi.StartAsync(server);
        await running.Store.People.AddAsync("Person counter", "counter", new Passwords().Hash(Password), "An owner", Stop);
        var builder = ContractsHost.Builder(running.Store, running.Store.Connection.Everyday, new ApiSettings(), new SignInSettings { Secure = true });
        builder.WebHost.UseUrls("https://127.0.0.1:0");
        ServerCertificate.Use(builder, certificate, key);
        await using var app = builder.Build();
        ContractsHost.Map(app);
        await app.StartAsync(Stop);
        var at = new Uri(app.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses.Single());
        Assert.Equal("https", at.Scheme);
        string? shown = null;
        var cookies = new CookieContainer();
        using var handler = new SocketsHttpHandler
        {
            CookieContainer = cookies, AllowAutoRedirect = false, UseProxy = false,
            SslOptions = new SslClientAuthenticationOptions
            {
                RemoteCertificateValidationCallback = (_, seen, _, _) =>
                {
                    shown = seen!.GetCertHashString(HashAlgorithmName.SHA256);
                    // Its own issuer, known to nobody: it is this one or none.
                    return shown == thumbprint;
                },
            },
        };
        using var client = new HttpClient(handler) { BaseAddress = at };

        using var data = new HttpRequestMessage(HttpMethod.Get, "/v1/law");
        data.Headers.TryAddWithoutValidation("Authorization", $"Bearer {running.KeyOf("auditor")}");
        using var law = await client.SendAsync(data, Stop);
        Assert.Equal(HttpStatusCode.OK, law.StatusCode);
        Assert.Equal(thumbprint, shown);
        Assert.Equal("max-age=31536000", law.Headers.GetValues("Strict-Transport-Security").Single());

        var page = await client.GetStringAsync("/sign-in", Stop);
        var token = Regex.Match(page, "name=\"(__RequestVerificationToken)\"[^>]* value=\"([^\"]+)\"");
        Assert.True(token.Success, page);
        using var form = new FormUrlEncodedContent(new Dictionary<string, string> { [token.Groups[1].Value] = token.Groups[2].Value, ["name"] = "Person counter", ["password"] = Password });
        using var signedIn = await client.PostAsync("/sign-in", form, Stop);
        Assert.True((int)signedIn.StatusCode is 302 or 303, $"{signedIn.StatusCode}");
        foreach (var set in signedIn.Headers.GetValues("Set-Cookie"))
        {
            Assert.StartsWith("__Host-contracts", set, StringComparison.Ordinal);
            Assert.Contains("; secure", set, StringComparison.Ordinal);
        }

        Assert.Equal(["__Host-contracts", "__Host-contracts-form"], cookies.GetAllCookies().Select(one => one.Name).Order(StringComparer.Ordinal));
        Assert.All(cookies.GetAllCookies(), one => Assert.True(one.Secure));
        using var account = await client.GetAsync("/v1/law", Stop);
        Assert.Equal(HttpStatusCode.OK, account.StatusCode);
        // Whoever speaks plain http there gets nothing.
        using var plain = new HttpClient { BaseAddress = new Uri($"http://127.0.0.1:{at.Port}") };
        await Assert.ThrowsAsync<HttpRequestException>(() => plain.GetAsync("/health/live", Stop));
        await app.StopAsync(Stop);
    }

    [Fact]
    public void A_key_that_everybody_may_read_one_of_another_certificate_and_files_of_something_else_are_refused()
    {
        var (certificate, key, _) = Make(keyApart: true);
        var builder = WebApplication.CreateSlimBuilder();
        ServerCertificate.Use(builder, certificate, key);
        File.SetUnixFileMode(key!, UnixFileMode.UserRead | UnixFileMode.OtherRead);
        Assert.Contains("Everybody", Refused(certificate, key), StringComparison.Ordinal);
        File.SetUnixFileMode(key!, UnixFileMode.UserRead | UnixFileMode.GroupRead);
        ServerCertificate.Use(builder, certificate, key);
        var (_, other, _) = Make(keyApart: true);
        Assert.Contains("no certificate and its key", Refused(certificate, other), StringComparison.Ordinal);
        Assert.Contains("no certificate and its key", Refused(certificate, null), StringComparison.Ordinal);
        Assert.Contains("no certificate and its key", Refused(certificate, key + ".none"), StringComparison.Ordinal);

        string Refused(string one, string? two) => Assert.Throws<StoreException>(() => ServerCertificate.Use(builder, one, two)).Message;
    }

    [Theory]
    [InlineData(2, "--certificate", "c.pem")]
    [InlineData(2, "--certificate-key", "k.pem")]
    [InlineData(2, "--urls", "https://127.0.0.1:0", "--certificate-key", "k.pem")]
    [InlineData(3, "--urls", "https://127.0.0.1:0", "--certificate", "/none/c.pem")]
    public async Task The_options_go_together_and_a_file_that_is_not_there_is_said(int exit, params string[] options)
    {
        var refused = await Shell.ContractsAsync(await server.NewDatabaseAsync(), ["serve", .. options]);
        Assert.True(exit == refused.Exit, refused.Error);
    }

    private (string Certificate, string? Key, string Thumbprint) Make(bool keyApart)
    {
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        var request = new CertificateRequest("CN=Test only (never trust)", key, HashAlgorithmName.SHA256);
        var names = new SubjectAlternativeNameBuilder();
        names.AddIpAddress(IPAddress.Loopback);
        request.CertificateExtensions.Add(names.Build());
        using var made = request.CreateSelfSigned(DateTimeOffset.UtcNow.AddDays(-1), DateTimeOffset.UtcNow.AddDays(1));
        var name = Path.Combine(folder, Guid.NewGuid().ToString("N"));
        var (certificate, private1) = (made.ExportCertificatePem() + "\n", key.ExportPkcs8PrivateKeyPem() + "\n");
        Write(name + ".pem", keyApart ? certificate : certificate + private1);
        if (keyApart) { Write(name + ".key", private1); }
        return (name + ".pem", keyApart ? name + ".key" : null, made.GetCertHashString(HashAlgorithmName.SHA256));

        static void Write(string path, string text)
        {
            File.WriteAllText(path, text);
            File.SetUnixFileMode(path, UnixFileMode.UserRead | UnixFileMode.UserWrite);
        }
    }
}

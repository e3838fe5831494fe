using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.IdentityModel.JsonWebTokens;
using Microsoft.IdentityModel.Tokens;

namespace Contracts.Host.Tests.Serving.SignIn;

/// <summary>A provider of OpenID Connect on this machine, with a key of its own: it says who somebody is to whoever knows the verifier.</summary>
internal sealed class Provider : IAsyncDisposable
{
    private readonly WebApplication app;
    private readonly RsaSecurityKey key = new(RSA.Create(2048)) { KeyId = "invented" };

    private Provider(WebApplication app) => this.app = app;

    public Uri Authority { get; private set; } = new("http://127.0.0.1");

    /// <summary>What the token says, beside who made it for whom.</summary>
    public Dictionary<string, object> Claims { get; } = new(StringComparer.Ordinal);

    /// <summary>The challenge that the browser was sent with.</summary>
    public string Challenge { get; set; } = "";

    /// <summary>What signs instead of the key that is published.</summary>
    public RsaSecurityKey? Forged { get; set; }

    /// <summary>How often a code was exchanged with the right verifier.</summary>
    public int Exchanged { get; private set; }

    public static async Task<Provider> StartAsync()
    {
        var builder = WebApplication.CreateSlimBuilder();
        builder.WebHost.UseUrls("http://127.0.0.1:0");
        var provider = new Provider(builder.Build());
        provider.app.MapGet("/.well-known/openid-configuration", () => Results.Json(new Dictionary<string, object>
        {
            ["issuer"] = provider.Authority.AbsoluteUri, ["authorization_endpoint"] = $"{provider.Authority}authorize", ["token_endpoint"] = $"{provider.Authority}token",
            ["jwks_uri"] = $"{provider.Authority}keys",
        }));
        provider.app.MapGet("/keys", () =>
        {
            var shown = provider.key.Rsa.ExportParameters(false);
            return Results.Json(new Dictionary<string, object>
            {
                ["keys"] = new[]
                {
                    new Dictionary<string, string>
                    {
                        ["kty"] = "RSA", ["use"] = "sig", ["kid"] = "invented", ["alg"] = "RS256",
                        ["n"] = Base64Url.EncodeToString(shown.Modulus), ["e"] = Base64Url.EncodeToString(shown.Exponent),
                    },
                },
            });
        });
        provider.app.MapPost("/token", async (HttpRequest request) =>
        {
            var form = await request.ReadFormAsync();
            var given = Base64Url.EncodeToString(SHA256.HashData(Encoding.ASCII.GetBytes(form["code_verifier"].ToString())));
            if (given != provider.Challenge || form["client_secret"] != "an invented secret") { return Results.BadRequest(); }
            provider.Exchanged++;
            return Results.Json(new Dictionary<string, string> { ["token_type"] = "Bearer", ["access_token"] = "none", ["id_token"] = provider.Token() });
        });
        await provider.app.StartAsync();
        provider.Authority = new Uri(provider.app.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses.Single());
        return provider;
    }

    public async ValueTask DisposeAsync()
    {
        await app.DisposeAsync();
        key.Rsa.Dispose();
    }

    private string Token() => new JsonWebTokenHandler().CreateToken(new SecurityTokenDescriptor
    {
        Issuer = Authority.AbsoluteUri, Audience = "contracts-of-the-shop", Claims = Claims, Expires = DateTime.UtcNow.AddMinutes(5),
        SigningCredentials = new SigningCredentials(Forged ?? key, SecurityAlgorithms.RsaSha256),
    });
}

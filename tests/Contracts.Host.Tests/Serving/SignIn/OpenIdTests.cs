using System.Net;
using System.Security.Cryptography;
using Contracts.Host.Serving.SignIn;
using Contracts.Host.Terminal;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Support;
using Microsoft.AspNetCore.WebUtilities;
using Microsoft.IdentityModel.Tokens;
using Xunit;

namespace Contracts.Host.Tests.Serving.SignIn;

/// <summary>People whom another provider names: sent there with state, nonce and PKCE, let in with exactly one role, turned away otherwise.</summary>
public sealed class OpenIdTests(Server server)
{
    [Fact]
    public async Task Somebody_is_sent_to_the_provider_with_state_nonce_and_a_challenge()
    {
        await using var provider = await Provider.StartAsync();
        await using var running = await StartAsync(provider);
        using var browser = new Browser(running);
        Assert.Contains("Sign in with your organisation", (await browser.GetAsync("/sign-in?next=/month")).Text, StringComparison.Ordinal);
        var (sent, query) = await LeaveAsync(browser, provider);
        Assert.StartsWith($"{provider.Authority}authorize?", sent, StringComparison.Ordinal);
        Assert.Equal(("contracts-of-the-shop", "code", "S256"), (query["client_id"], query["response_type"], query["code_challenge_method"]));
        Assert.True(query["state"].Length > 40 && query["nonce"].Length > 40 && query["code_challenge"].Length == 43);
        Assert.Equal("http://localhost/sign-in/openid/back", query["redirect_uri"]);
        Assert.DoesNotContain("secret", sent, StringComparison.Ordinal);
        Assert.All(browser.Set, cookie => Assert.Contains("httponly", cookie, StringComparison.Ordinal));
    }

    [Fact]
    public async Task Who_comes_back_with_one_role_is_in_under_that_name_until_signing_out()
    {
        await using var provider = await Provider.StartAsync();
        await using var running = await StartAsync(provider);
        using var browser = new Browser(running);
        var back = await ComeBackAsync(browser, provider, "finance", "another system's role");
        Assert.Equal((HttpStatusCode.Redirect, "/month"), (back.Status, back.Headers["Location"]));
        Assert.Equal(1, provider.Exchanged);
        Assert.Equal(HttpStatusCode.OK, (await browser.GetAsync("/v1/portfolio", "application/json")).Status);
        (await browser.SendAsync(HttpMethod.Post, "/v1/accounts/C-1/dossier", null, ("X-CSRF", (await browser.FormAsync("/sign-out")).Fields.Values.Single()))).IsProblem(403, "role-forbids");
        Assert.Contains("Ada at the provider, finance", (await browser.GetAsync("/sign-out")).Text, StringComparison.Ordinal);
        await browser.SubmitAsync("/sign-out");
        (await browser.GetAsync("/v1/law", "application/json")).IsProblem(401, "key-missing");
    }

    [Theory]
    [InlineData("no role of this host")]
    [InlineData("two roles")]
    [InlineData("another nonce")]
    [InlineData("another key")]
    [InlineData("another state")]
    [InlineData("another browser")]
    public async Task Who_comes_back_otherwise_is_not_let_in(string how)
    {
        await using var provider = await Provider.StartAsync();
        await using var running = await StartAsync(provider);
        using var browser = new Browser(running);
        using var rsa = RSA.Create(2048);
        provider.Forged = how == "another key" ? new RsaSecurityKey(rsa) { KeyId = "invented" } : null;
        string[] roles = how switch { "no role of this host" => ["king"], "two roles" => ["finance", "manager"], _ => ["manager"] };
        var back = await ComeBackAsync(browser, provider, how, roles);
        Assert.Equal("/sign-in?failed=1", back.Headers["Location"]);
        Assert.DoesNotContain("contracts", browser.Cookies.Keys);
        Assert.Contains("did not say who you are", (await browser.GetAsync("/sign-in?failed=1")).Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Where_no_provider_is_named_there_is_no_such_way()
    {
        await using var running = await RunningApi.StartAsync(server);
        using var browser = new Browser(running);
        (await browser.GetAsync("/sign-in/openid")).IsProblem(404, "route-unknown");
        Assert.DoesNotContain("organisation", (await browser.GetAsync("/sign-in")).Text, StringComparison.Ordinal);
    }

    [Fact]
    public void The_provider_is_named_by_variables_and_half_of_them_are_not_enough()
    {
        Assert.Null(OpenIdSettings.Read(_ => null));
        Assert.Equal(
            new OpenIdSettings(new Uri("https://login.example"), "shop", null, "role"),
            Read(("CONTRACTS_OIDC_AUTHORITY", "https://login.example"), ("CONTRACTS_OIDC_CLIENT", "shop")));
        Assert.Equal("groups", Read(("CONTRACTS_OIDC_AUTHORITY", "https://login.example"), ("CONTRACTS_OIDC_CLIENT", "shop"), ("CONTRACTS_OIDC_ROLE_CLAIM", "groups"))!.RoleClaim);
        Assert.Throws<UsageException>(() => Read(("CONTRACTS_OIDC_AUTHORITY", "https://login.example")));
        Assert.Throws<UsageException>(() => Read(("CONTRACTS_OIDC_AUTHORITY", "http://login.example"), ("CONTRACTS_OIDC_CLIENT", "shop")));
        static OpenIdSettings? Read(params (string Name, string Value)[] set) =>
            OpenIdSettings.Read(name => set.Where(one => one.Name == name).Select(one => one.Value).FirstOrDefault());
    }

    private static async Task<(string Sent, Dictionary<string, string> Query)> LeaveAsync(Browser browser, Provider provider)
    {
        var sent = await browser.GetAsync("/sign-in/openid?next=/month");
        Assert.True(sent.Status == HttpStatusCode.Redirect, sent.Text);
        var query = QueryHelpers.ParseQuery(new Uri(sent.Headers["Location"]).Query).ToDictionary(one => one.Key, one => one.Value.ToString());
        provider.Challenge = query["code_challenge"];
        return (sent.Headers["Location"], query);
    }

    private static Task<Answer> ComeBackAsync(Browser browser, Provider provider, params string[] roles) => ComeBackAsync(browser, provider, "", roles);

    private static async Task<Answer> ComeBackAsync(Browser browser, Provider provider, string how, string[] roles)
    {
        var (_, query) = await LeaveAsync(browser, provider);
        provider.Claims["sub"] = "person-7";
        provider.Claims["preferred_username"] = "Ada at the provider";
        provider.Claims["shop_roles"] = roles;
        provider.Claims["nonce"] = how == "another nonce" ? query["nonce"][..^2] : query["nonce"];
        if (how == "another browser") { browser.Cookies.Clear(); }
        var state = how == "another state" ? query["state"][..^2] : query["state"];
        return await browser.GetAsync($"/sign-in/openid/back?code=one&state={Uri.EscapeDataString(state)}");
    }

    private Task<RunningApi> StartAsync(Provider provider) => RunningApi.StartAsync(
        server, signIn: new SignInSettings { OpenId = new OpenIdSettings(provider.Authority, "contracts-of-the-shop", "an invented secret", "shop_roles") });
}

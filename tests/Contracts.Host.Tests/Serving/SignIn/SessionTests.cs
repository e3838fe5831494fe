using System.Globalization;
using System.Net;
using System.Text;
using System.Text.RegularExpressions;
using Contracts.Host.Serving.SignIn;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Support;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace Contracts.Host.Tests.Serving.SignIn;

/// <summary>What a cookie opens, for how long, and what nobody can do with somebody else's.</summary>
public sealed partial class SessionTests(Server server)
{
    private const string Password = SignInTests.Password;

    [Fact]
    public async Task A_person_opens_the_same_doors_as_a_key_of_the_role_and_no_other()
    {
        await using var running = await StartAsync();
        foreach (var role in Roles.All)
        {
            using var browser = new Browser(running);
            await browser.SignInAsync($"Person {role}", Password);
            var token = (await browser.FormAsync("/sign-out")).Fields.Values.Single();
            foreach (var door in Doors.All)
            {
                var path = RolesTests.PathOf(door);
                var body = RolesTests.BodyOf(door, role);
                var byKey = await running.SendAsync(role, new HttpMethod(door.Method), path, body);
                using var content = body is null ? null : new StringContent(body, Encoding.UTF8, "application/json");
                var byCookie = await browser.SendAsync(new HttpMethod(door.Method), path, content, (FormGuard, token));
                Assert.True(byKey.Status == byCookie.Status && byKey.Type == byCookie.Type, $"{door} as {role}: {byKey.Status} by key, {byCookie.Status} by cookie {byCookie.Text}");
                Assert.Equal(door.Roles.Contains(role), byCookie.Status != HttpStatusCode.Forbidden);
            }
        }
    }

    [Fact]
    public async Task Over_https_the_cookie_is_bound_to_the_host_and_out_of_reach_of_scripts_and_other_sites()
    {
        await using var running = await StartAsync(new SignInSettings { Secure = true, AttemptsPerMinute = 1000 });
        using var browser = new Browser(running, secure: true);
        await browser.SignInAsync("Person support", Password);
        var parts = Assert.Single(browser.Set, cookie => cookie.StartsWith("__Host-contracts=", StringComparison.Ordinal)).Split("; ");
        Assert.Equal(["httponly", "path=/", "samesite=strict", "secure"], parts[1..].Order(StringComparer.Ordinal));
        Assert.Contains("__Host-contracts-form", browser.Cookies.Keys);
    }

    [Fact]
    public async Task By_plain_http_the_cookie_has_no_prefix_and_the_rest_alike()
    {
        await using var running = await StartAsync();
        using var browser = new Browser(running);
        await browser.SignInAsync("Person support", Password);
        var parts = Assert.Single(browser.Set, cookie => cookie.StartsWith("contracts=", StringComparison.Ordinal)).Split("; ");
        Assert.Equal(["httponly", "path=/", "samesite=strict"], parts[1..].Order(StringComparer.Ordinal));
    }

    [Fact]
    public async Task Each_sign_in_is_a_new_session_and_the_one_that_was_there_before_is_over()
    {
        await using var running = await StartAsync();
        using var planted = new Browser(running);
        await planted.SignInAsync("Person auditor", Password);
        using var browser = new Browser(running);
        browser.Cookies["contracts"] = planted.Cookies["contracts"];
        browser.Cookies["contracts-form"] = planted.Cookies["contracts-form"];
        await browser.SignInAsync("Person support", Password);
        Assert.NotEqual(planted.Cookies["contracts"], browser.Cookies["contracts"]);
        (await planted.GetAsync("/v1/law", "application/json")).IsProblem(401, "key-missing");
        Assert.Equal(HttpStatusCode.OK, (await browser.GetAsync("/v1/law", "application/json")).Status);
    }

    [Fact]
    public async Task Signing_out_takes_a_form_and_ends_copies_of_the_cookie_too()
    {
        await using var running = await StartAsync();
        using var browser = new Browser(running);
        await browser.SignInAsync("Person support", Password);
        using var copy = new Browser(running);
        copy.Cookies["contracts"] = browser.Cookies["contracts"];
        Assert.Equal(HttpStatusCode.OK, (await browser.GetAsync("/sign-out")).Status);
        Assert.Equal(HttpStatusCode.OK, (await copy.GetAsync("/v1/law", "application/json")).Status);
        Assert.Equal("/sign-in", (await browser.SubmitAsync("/sign-out")).Headers["Location"]);
        Assert.DoesNotContain("contracts", browser.Cookies.Keys);
        (await copy.GetAsync("/v1/law", "application/json")).IsProblem(401, "key-missing");
    }

    [Fact]
    public async Task Who_is_shut_out_or_gets_another_password_is_out_at_the_next_request()
    {
        await using var running = await StartAsync();
        using var gone = new Browser(running);
        await gone.SignInAsync("Person support", Password);
        using var changed = new Browser(running);
        await changed.SignInAsync("Person finance", Password);
        Assert.Equal(0, (await Shell.ContractsAsync(running.Database, "user", "disable", "person SUPPORT", "--by", "A manager")).Exit);
        (await gone.GetAsync("/v1/law", "application/json")).IsProblem(401, "key-missing");
        Assert.Equal(HttpStatusCode.OK, (await changed.GetAsync("/v1/law", "application/json")).Status);
        Assert.Equal(0, (await Shell.ContractsReadingAsync(running.Database, "seven other words\n", "user", "password", "Person finance", "--read-password")).Exit);
        (await changed.GetAsync("/v1/law", "application/json")).IsProblem(401, "key-missing");
        await changed.SignInAsync("Person finance", "seven other words");
    }

    [Fact]
    public async Task A_session_ends_after_eight_hours_without_a_request_and_after_twelve_in_any_case()
    {
        var clock = new MovedClock();
        await using var running = await StartAsync(clock: clock);
        using var idle = new Browser(running);
        await idle.SignInAsync("Person support", Password);
        using var busy = new Browser(running);
        await busy.SignInAsync("Person support", Password);
        foreach (var _ in Enumerable.Range(0, 2))
        {
            clock.Moved += TimeSpan.FromHours(5);
            Assert.Equal(HttpStatusCode.OK, (await busy.GetAsync("/v1/law", "application/json")).Status);
        }

        (await idle.GetAsync("/v1/law", "application/json")).IsProblem(401, "key-missing");
        clock.Moved += TimeSpan.FromHours(1.9);
        Assert.Equal(HttpStatusCode.OK, (await busy.GetAsync("/v1/law", "application/json")).Status);
        clock.Moved += TimeSpan.FromHours(0.2);
        (await busy.GetAsync("/v1/law", "application/json")).IsProblem(401, "key-missing");
    }

    [Fact]
    public async Task A_cookie_that_was_changed_or_comes_from_another_host_opens_nothing()
    {
        await using var running = await StartAsync();
        await using var other = await StartAsync();
        using var browser = new Browser(running);
        await browser.SignInAsync("Person support", Password);
        var cookie = browser.Cookies["contracts"];
        using var thief = new Browser(other);
        thief.Cookies["contracts"] = cookie;
        (await thief.GetAsync("/v1/law", "application/json")).IsProblem(401, "key-missing");
        browser.Cookies["contracts"] = cookie[..40] + (cookie[40] == 'A' ? 'B' : 'A') + cookie[41..];
        (await browser.GetAsync("/v1/law", "application/json")).IsProblem(401, "key-missing");
    }

    [Fact]
    public async Task What_a_person_sends_without_the_token_of_a_form_is_refused_and_a_key_needs_none()
    {
        await using var running = await StartAsync();
        using var browser = new Browser(running);
        foreach (var path in new[] { "/sign-in", "/first-run" })
        {
            using var empty = new FormUrlEncodedContent([]);
            (await browser.SendAsync(HttpMethod.Post, path, empty)).IsProblem(400, "form-token-missing");
        }

        var before = (await browser.FormAsync("/sign-in")).Fields["__RequestVerificationToken"];
        await browser.SignInAsync("Person manager", Password);
        var token = (await browser.FormAsync("/sign-out")).Fields.Values.Single();
        using var foreign = new Browser(running);
        await foreign.SignInAsync("Person manager", Password);
        var foreigns = (await foreign.FormAsync("/sign-out")).Fields.Values.Single();
        foreach (var (wrong, says) in new[] { ("", "none"), ("x", "noise"), (before, "from before signing in"), (foreigns, "another session's") })
        {
            using var line = new StringContent(Lines.Tax, Encoding.UTF8, "application/json");
            var refused = await browser.SendAsync(HttpMethod.Post, "/v1/commands", line, wrong.Length == 0 ? [] : [(FormGuard, wrong)]);
            Assert.True(refused.Status == HttpStatusCode.BadRequest, says);
            refused.IsProblem(400, "form-token-missing");
        }

        using var sent = new StringContent(Lines.Tax, Encoding.UTF8, "application/json");
        Assert.Contains("applied", (await browser.SendAsync(HttpMethod.Post, "/v1/commands", sent, (FormGuard, token))).Text, StringComparison.Ordinal);
        await running.AppliedAsync(Lines.Sign("C-1", "S-1"));
        using var out1 = new FormUrlEncodedContent([]);
        var page = await browser.SendAsync(HttpMethod.Post, "/sign-out", out1, ("Accept", "text/html"));
        Assert.Equal(HttpStatusCode.BadRequest, page.Status);
        Assert.Contains("Nothing was done", page.Text, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.OK, (await browser.GetAsync("/sign-out")).Status);
    }

    [Fact]
    public async Task A_page_that_needs_somebody_leads_to_the_sign_in_and_a_program_gets_its_problem()
    {
        await using var running = await StartAsync();
        using var browser = new Browser(running);
        var led = await browser.GetAsync("/sign-out?a=b%20c");
        Assert.Equal((HttpStatusCode.Redirect, "/sign-in?next=%2Fsign-out%3Fa%3Db%2520c"), (led.Status, led.Headers["Location"]));
        (await browser.GetAsync("/sign-out", "application/json")).IsProblem(401, "key-missing");
        (await browser.GetAsync("/v1/law")).IsProblem(401, "key-missing");
        Assert.Equal("Bearer", (await browser.GetAsync("/v1/law")).Headers["WWW-Authenticate"]);
    }

    [Fact]
    public async Task Where_there_is_a_key_the_cookie_does_not_count()
    {
        await using var running = await StartAsync();
        using var browser = new Browser(running);
        await browser.SignInAsync("Person manager", Password);
        (await browser.SendAsync(HttpMethod.Get, "/v1/law", null, ("Authorization", "Bearer contracts_none"))).IsProblem(401, "key-unknown");
        (await browser.SendAsync(HttpMethod.Get, "/v1/portfolio", null, ("Authorization", $"Bearer {running.KeyOf("support")}"))).IsProblem(403, "role-forbids");
    }

    [Fact]
    public async Task Every_page_forbids_foreign_scripts_frames_and_caches_and_its_number_is_never_the_same()
    {
        await using var running = await StartAsync();
        using var browser = new Browser(running, secure: true);
        var nonces = new HashSet<string>();
        foreach (var path in new[] { "/sign-in", "/sign-in", "/first-run" })
        {
            var page = await browser.GetAsync(path);
            var policy = page.Headers["Content-Security-Policy"];
            var nonce = Nonce().Match(policy).Groups[1].Value;
            Assert.Equal(
                $"default-src 'self'; script-src 'nonce-{nonce}'; style-src 'self' 'nonce-{nonce}'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'; form-action 'self'",
                policy);
            Assert.True(nonce.Length >= 22 && nonces.Add(nonce));
            Assert.Equal(
                ("nosniff", "no-referrer", "no-store", "max-age=31536000"),
                (page.Headers["X-Content-Type-Options"], page.Headers["Referrer-Policy"], page.Headers["Cache-Control"], page.Headers["Strict-Transport-Security"]));
            Assert.DoesNotContain("<script", page.Text, StringComparison.OrdinalIgnoreCase);
            Assert.DoesNotMatch("(?i) (on[a-z]+|style)=", page.Text);
        }

        using var plain = new Browser(running);
        Assert.DoesNotContain("Strict-Transport-Security", (await plain.GetAsync("/sign-in")).Headers.Keys);
        Assert.Contains("default-src 'none'", (await plain.GetAsync("/v1/law")).Headers["Content-Security-Policy"], StringComparison.Ordinal);
    }

    [Fact]
    public async Task Every_field_has_its_label_and_nothing_needs_a_mouse()
    {
        await using var running = await StartAsync();
        using var browser = new Browser(running);
        var document = new AngleSharp.Html.Parser.HtmlParser().ParseDocument((await browser.GetAsync("/sign-in?failed=1")).Text);
        Assert.Equal("en", document.DocumentElement.GetAttribute("lang"));
        Assert.Single(document.QuerySelectorAll("h1"));
        Assert.NotNull(document.QuerySelector("p[role=alert]"));
        Assert.All(
            document.QuerySelectorAll("input:not([type=hidden]),select"),
            field => Assert.NotNull(document.QuerySelector($"label[for={field.Id}]")));
        Assert.Empty(document.QuerySelectorAll("[tabindex]"));
    }

    [Fact]
    public async Task What_a_person_reads_is_recorded_with_the_purpose_of_the_session_which_can_be_changed()
    {
        await using var running = await StartAsync();
        await running.AppliedAsync(Lines.Tax);
        await running.AppliedAsync(Lines.Sign("C-1", "S-1"));
        using var browser = new Browser(running);
        await browser.SignInAsync("Person support", Password);
        await browser.GetAsync("/v1/accounts/C-1", "application/json");
        await browser.SubmitAsync("/purpose", ("purpose", "a call about\tDecember"));
        await browser.GetAsync("/v1/accounts/C-1", "application/json");
        await browser.SendAsync(HttpMethod.Get, "/v1/accounts/C-1", null, ("X-Purpose", "only this once"));
        var reads = running.Alba.Services.GetRequiredService<PageReads>();
        await reads.RecordAsync("Person support", "support", "/account/{id}", "C-1", "a page");
        Assert.Equal(
            [("Person support", "not said"), ("Person support", "a call aboutDecember"), ("Person support", "only this once"), ("Person support", "a page")],
            (await running.Store.Readings.OfAsync("C-1")).Select(read => (read.By, read.Purpose)));
    }

    private const string FormGuard = "X-CSRF";

    private async Task<RunningApi> StartAsync(SignInSettings? settings = null, MovedClock? clock = null)
    {
        var running = await RunningApi.StartAsync(
            server, signIn: settings, more: clock is null ? null : builder => builder.Services.AddSingleton<TimeProvider>(clock));
        var hash = new Passwords().Hash(Password);
        foreach (var role in Roles.All) { await running.Store.People.AddAsync($"Person {role}", role, hash, "An owner"); }
        return running;
    }

    [GeneratedRegex("'nonce-([^']+)'")]
    private static partial Regex Nonce();

    /// <summary>The machine's clock, moved on.</summary>
    private sealed class MovedClock : TimeProvider
    {
        public TimeSpan Moved { get; set; }

        public override DateTimeOffset GetUtcNow() => System.GetUtcNow() + Moved;
    }
}

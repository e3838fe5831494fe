using System.Net;
using Contracts.Host.Serving.SignIn;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace Contracts.Host.Tests.Serving.SignIn;

/// <summary>The ways in without a password: once for the first person, and among invented data.</summary>
public sealed class FirstRunTests(Server server)
{
    private const string Password = SignInTests.Password;

    [Fact]
    public async Task The_link_of_the_first_run_lets_a_manager_in_once()
    {
        await using var running = await RunningApi.StartAsync(server);
        var link = running.Alba.Services.GetRequiredService<FirstRun>().Begin();
        using var owner = new Browser(running);
        using var late = new Browser(running);
        var (action, form) = await late.FormAsync(link);
        Assert.Contains("password-short", Passwords.Against("short", "An owner")!.Code, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.UnprocessableEntity, (await owner.SubmitAsync(link, ("name", "An owner"), ("password", "short"), ("again", "short"))).Status);
        Assert.Equal(HttpStatusCode.UnprocessableEntity, (await owner.SubmitAsync(link, ("name", "An owner"), ("password", Password), ("again", "others"))).Status);
        var begun = await owner.SubmitAsync(link, ("name", "An owner"), ("password", Password), ("again", Password));
        Assert.Equal((HttpStatusCode.Redirect, "/"), (begun.Status, begun.Headers["Location"]));
        Assert.Equal(HttpStatusCode.OK, (await owner.GetAsync("/v1/portfolio", "application/json")).Status);
        Assert.Equal("manager", (await running.Store.People.FindAsync("an owner"))!.Role);

        Assert.Equal(HttpStatusCode.NotFound, (await owner.GetAsync(link)).Status);
        (form["name"], form["password"], form["again"]) = ("Another", Password, Password);
        using var sent = new FormUrlEncodedContent(form);
        Assert.Equal(HttpStatusCode.NotFound, (await late.SendAsync(HttpMethod.Post, action, sent, ("Accept", "text/html"))).Status);
        Assert.Null(await running.Store.People.FindAsync("Another"));
    }

    [Fact]
    public void A_code_is_used_up_by_the_first_of_those_who_have_it()
    {
        var first = new FirstRun();
        var code = first.Begin().Split('=')[1];
        Assert.Equal([true, false, false], new[] { first.Use(code), first.Use(code), first.IsGood(code) });
    }

    [Fact]
    public async Task There_is_no_first_run_without_the_code_nor_when_somebody_is_in()
    {
        await using var running = await RunningApi.StartAsync(server);
        var first = running.Alba.Services.GetRequiredService<FirstRun>();
        using var browser = new Browser(running);
        Assert.Equal(HttpStatusCode.NotFound, (await browser.GetAsync("/first-run?code=")).Status);
        var link = first.Begin();
        Assert.Equal(HttpStatusCode.NotFound, (await browser.GetAsync("/first-run")).Status);
        Assert.Equal(HttpStatusCode.NotFound, (await browser.GetAsync(link + "x")).Status);
        Assert.Equal(HttpStatusCode.OK, (await browser.GetAsync(link)).Status);
        await running.Store.People.AddAsync("Somebody", Roles.Counter, new Passwords().Hash(Password), "An owner");
        Assert.Equal(HttpStatusCode.NotFound, (await browser.GetAsync(link)).Status);
    }

    [Fact]
    public async Task Of_many_first_people_at_the_same_moment_one_is_let_in()
    {
        await using var store = await server.NewStoreAsync();
        var let = await Task.WhenAll(Enumerable.Range(0, 10).Select(number => store.People.AddFirstAsync($"Owner {number}", Roles.Manager, "a hash")));
        Assert.Single(let, one => one);
        Assert.Single(await store.People.ListAsync());
    }

    [Fact]
    public async Task Among_invented_data_a_role_is_picked_and_the_page_says_what_it_is()
    {
        await using var running = await RunningApi.StartAsync(server, signIn: new SignInSettings { Demo = true });
        using var browser = new Browser(running);
        Assert.Contains("Everything here is invented", (await browser.GetAsync("/sign-in")).Text, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await browser.SubmitAsync("/sign-in", ("role", "support"))).Status);
        Assert.Equal(HttpStatusCode.OK, (await browser.GetAsync("/v1/law", "application/json")).Status);
        (await browser.GetAsync("/v1/portfolio", "application/json")).IsProblem(403, "role-forbids");
        Assert.Equal(HttpStatusCode.BadRequest, (await browser.SubmitAsync("/sign-in", ("role", "king"))).Status);
        var (_, form) = await browser.FormAsync("/sign-in");
        using var sent = new FormUrlEncodedContent(form);
        (await browser.SendAsync(HttpMethod.Post, "/sign-in", sent)).IsProblem(405, "method-not-allowed");
    }

    [Fact]
    public async Task On_any_other_store_no_role_is_picked_even_with_a_cookie_of_the_demo()
    {
        var keys = Directory.CreateTempSubdirectory("cookie-keys-").FullName;
        await using var demo = await RunningApi.StartAsync(server, signIn: new SignInSettings { Demo = true, KeyFolder = keys });
        await using var running = await RunningApi.StartAsync(server, signIn: new SignInSettings { KeyFolder = keys });
        using var looker = new Browser(demo);
        await looker.SubmitAsync("/sign-in", ("role", "manager"));
        Assert.Equal(HttpStatusCode.OK, (await looker.GetAsync("/v1/portfolio", "application/json")).Status);
        using var browser = new Browser(running);
        Assert.DoesNotContain("invented", (await browser.GetAsync("/sign-in")).Text, StringComparison.Ordinal);
        var (_, form) = await browser.FormAsync("/sign-in");
        form["role"] = "manager";
        using var sent = new FormUrlEncodedContent(form);
        (await browser.SendAsync(HttpMethod.Post, "/sign-in/demo", sent)).IsProblem(404, "route-unknown");
        browser.Cookies["contracts"] = looker.Cookies["contracts"];
        (await browser.GetAsync("/v1/law", "application/json")).IsProblem(401, "key-missing");
        Directory.Delete(keys, recursive: true);
    }

    [Theory]
    [InlineData("https://127.0.0.2.example:5080")]
    [InlineData("http://127.0.0.1:5080", "--behind-proxy")]
    public async Task The_demo_is_shown_on_a_loopback_address_only_and_behind_no_proxy(string url, params string[] more)
    {
        var refused = await Shell.ContractsWithAsync("", ["serve", "--demo", "--urls", url, .. more]);
        Assert.Equal(2, refused.Exit);
        Assert.Contains("--demo lets people in without a password", refused.Error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_demo_is_shown_on_no_database_that_somebody_named()
    {
        var refused = await Shell.ContractsAsync(await server.NewDatabaseAsync(), "serve", "--demo");
        Assert.Equal(2, refused.Exit);
        Assert.Contains("unset CONTRACTS_DATABASE", refused.Error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Keys_of_cookies_are_for_their_owner_alone_and_outlast_the_host()
    {
        var keys = Path.Combine(Directory.CreateTempSubdirectory("cookie-keys-").FullName, "keys");
        var connection = await server.NewGuardedAsync();
        await using var store = await ContractsStore.OpenAsync(connection, new StoreSettings(Server.Zone, true));
        var settings = new SignInSettings { KeyFolder = keys };
        Host.Serving.ContractsHost.Builder(store, store.Connection.Everyday, null, settings);
        if (OperatingSystem.IsWindows()) { return; }
        Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute, File.GetUnixFileMode(keys));
        File.SetUnixFileMode(keys, File.GetUnixFileMode(keys) | UnixFileMode.GroupRead);
        Assert.Contains("700", Assert.Throws<StoreException>(() => Host.Serving.ContractsHost.Builder(store, store.Connection.Everyday, null, settings)).Message, StringComparison.Ordinal);
        Directory.Delete(Path.GetDirectoryName(keys)!, recursive: true);
    }
}

@echo off
chcp 65001 >nul
rem A double click opens the desk of this studio in the browser; closing this window closes the desk.
cd /d "%~dp0"
if exist "{python}" goto ours
where sitegen >nul 2>nul || goto missing
sitegen --studio . desk %*
goto end
:ours
"{python}" -m sitegen --studio . desk %*
:end
if errorlevel 1 pause
exit /b
:missing
echo The program isn't where it was when this studio was made. Install it again, then try once more.
pause

/** The pages' one door: who is signed in, which page or act it is, and what goes back. */
import { Controller, Get, Inject, Post, Req, Res } from '@nestjs/common';
import type { Request, Response } from 'express';
import { DomainError, Invalid, Outdated } from '../platform/errors.js';
import { type AppContext, executeOperation } from '../platform/operation/execute.js';
import type { Operation } from '../platform/operation/operation.js';
import { APP_CONTEXT } from '../platform/tokens.js';
import { formToken, isFormToken, isOwnOrigin, lastShop, type Session, sessionOf, shopCode } from './access/sessions.js';
import { Document, type Shown } from './frame/document.js';
import { Form, WrongFields } from './frame/form.js';
import { Formatter } from './frame/format.js';
import { type ActDeclared, matchPath, type Page } from './frame/page.js';
import { readForm } from './frame/read-form.js';
import { assetMark, sendAsset, sendPage, sendWorker } from './frame/send.js';
import { type Done, type Refusal, View } from './frame/view.js';
